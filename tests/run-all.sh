#!/usr/bin/env bash
# `npm test`: types, lint, then every test folder, the browser's included. Nothing is skipped in silence: a skipped
# test, a missing browser or a run with no tests is a failure. The last line is "N passed, N failed".
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
exec </dev/null

install_line='apt-get update && apt-get install -y --no-install-recommends chromium fonts-dejavu-core'
export CHROMIUM_PATH="${CHROMIUM_PATH:-/usr/bin/chromium}"
if [ ! -x "$CHROMIUM_PATH" ] && [ "$CHROMIUM_PATH" = /usr/bin/chromium ] && [ -f /etc/debian_version ] && [ "$(id -u)" = 0 ]; then
  echo "Chromium is missing; installing it for the browser tests."
  bash -c "export DEBIAN_FRONTEND=noninteractive; $install_line" || true
fi
if [ ! -x "$CHROMIUM_PATH" ]; then
  echo "The browser tests need Chromium at /usr/bin/chromium, or at CHROMIUM_PATH. On Debian type:" >&2
  echo "  sudo sh -c '$install_line'" >&2
  echo "0 passed, 1 failed"
  exit 1
fi

failed_steps=()
step() {
  echo "== $1"
  shift
  "$@"
}

# The build checks the types and leaves in dist/ what the tests that start a process of their own run.
step types npm run --silent build || failed_steps+=(types)
# ESLint runs without its cache here: a typed rule can be broken in a file that did not change.
step lint npm run --silent lint || failed_steps+=(lint)

results=.vitest/results.json
rm -f "$results"
step tests npx --no-install vitest run --config tests/vitest.config.ts \
  --reporter=default --reporter=json --outputFile.json="$results" || true

# Reads the runner's own report, prints the count and fails unless every test ran and passed.
node tests/summary.js "$results" "${failed_steps[@]+"${failed_steps[@]}"}"

-- Secrets, logins and one-time keys: never clinical facts, so not in the ledger and not in a rebuild.

CREATE TABLE pin_credential (
  staff_id TEXT PRIMARY KEY NOT NULL REFERENCES staff,
  pin_hash TEXT NOT NULL CHECK (length(pin_hash) >= 20)
) STRICT;

-- The token itself is never stored; times are those of the monotonic clock.
CREATE TABLE session (
  token_hash        TEXT PRIMARY KEY NOT NULL,
  staff_id          TEXT NOT NULL REFERENCES staff,
  ward_id           TEXT,
  meter_id          TEXT,
  started_mono_ms   REAL NOT NULL,
  last_seen_mono_ms REAL NOT NULL
) STRICT;

CREATE TABLE secret (
  purpose TEXT PRIMARY KEY NOT NULL,
  value   BLOB NOT NULL CHECK (length(value) >= 32)
) STRICT;

CREATE TABLE one_time_key (
  nonce     TEXT PRIMARY KEY NOT NULL,
  staff_id  TEXT NOT NULL,
  form      TEXT NOT NULL,
  body_hash TEXT NOT NULL,
  status    INTEGER NOT NULL,
  location  TEXT NOT NULL,
  at_ms     INTEGER NOT NULL
) STRICT;

CREATE TABLE draft (
  draft_id TEXT PRIMARY KEY NOT NULL,
  staff_id TEXT NOT NULL,
  path     TEXT NOT NULL,
  fields   TEXT NOT NULL CHECK (json_valid(fields)),
  at_ms    INTEGER NOT NULL
) STRICT;

-- One row, written by the health check to show that a write goes through.
CREATE TABLE probe (
  probe_id INTEGER PRIMARY KEY NOT NULL CHECK (probe_id = 1),
  count    INTEGER NOT NULL
) STRICT;
INSERT INTO probe (probe_id, count) VALUES (1, 0);

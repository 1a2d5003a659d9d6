-- The tables of record. A row is written once: UPDATE and DELETE are refused, also when an INSERT OR REPLACE tries
-- them (recursive_triggers is on for every connection). A ledger row must follow the one before it.

CREATE TABLE ledger (
  seq            INTEGER PRIMARY KEY NOT NULL,
  type           TEXT NOT NULL CHECK (length(type) BETWEEN 1 AND 60),
  ward_id        TEXT,
  stay_id        TEXT,
  actor_id       TEXT NOT NULL CHECK (length(actor_id) > 0),
  happened_at_ms INTEGER NOT NULL,
  charted_at_ms  INTEGER NOT NULL,
  -- canonical JSON (RFC 8785), so that the same fact is the same text for ever
  body           TEXT NOT NULL CHECK (json_valid(body)),
  previous_hash  TEXT NOT NULL CHECK (length(previous_hash) = 64),
  hash           TEXT NOT NULL CHECK (length(hash) = 64)
) STRICT;

CREATE TRIGGER ledger_follows BEFORE INSERT ON ledger
WHEN NEW.seq <> coalesce((SELECT max(seq) FROM ledger), 0) + 1
  OR NEW.previous_hash <> coalesce((SELECT hash FROM ledger ORDER BY seq DESC LIMIT 1), '0000000000000000000000000000000000000000000000000000000000000000')
BEGIN SELECT RAISE(ABORT, 'a ledger row must follow the last one'); END;

CREATE TRIGGER ledger_not_changed BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is never changed'); END;

CREATE TRIGGER ledger_not_deleted BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is never deleted from'); END;

CREATE TABLE access_log (
  access_id  INTEGER PRIMARY KEY NOT NULL,
  at_ms      INTEGER NOT NULL,
  staff_id   TEXT NOT NULL,
  stay_id    TEXT,
  ward_id    TEXT,
  page       TEXT NOT NULL CHECK (length(page) BETWEEN 1 AND 200),
  request_id TEXT NOT NULL
) STRICT;

CREATE INDEX access_log_by_stay ON access_log (stay_id, at_ms) WHERE stay_id IS NOT NULL;

CREATE TRIGGER access_log_not_changed BEFORE UPDATE ON access_log
BEGIN SELECT RAISE(ABORT, 'the access log is never changed'); END;

CREATE TRIGGER access_log_not_deleted BEFORE DELETE ON access_log
BEGIN SELECT RAISE(ABORT, 'the access log is never deleted from'); END;

CREATE TRIGGER access_log_not_replaced BEFORE INSERT ON access_log
WHEN NEW.access_id IN (SELECT access_id FROM access_log)
BEGIN SELECT RAISE(ABORT, 'the access log is never changed'); END;

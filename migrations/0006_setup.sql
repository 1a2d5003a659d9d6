-- What a ward sets up for itself: policy changes, standard orders, meters and their controls, the history of a stay.
-- The new tables and columns are derived from events that are in the ledger already, so all derived tables are filled
-- anew from it when this database is next opened (server/store/rebuild.ts).

ALTER TABLE staff ADD COLUMN locked_reason TEXT;
ALTER TABLE staff ADD COLUMN locked_at_ms INTEGER CHECK ((locked_at_ms IS NULL) = (locked_reason IS NULL));
ALTER TABLE staff ADD COLUMN left_at_ms INTEGER;
ALTER TABLE staff ADD COLUMN training_until TEXT CHECK (training_until GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]');

ALTER TABLE meter ADD COLUMN retired_reason TEXT;
ALTER TABLE meter ADD COLUMN retired_at_ms INTEGER CHECK ((retired_at_ms IS NULL) = (retired_reason IS NULL));

ALTER TABLE strip_lot ADD COLUMN ranges TEXT CHECK (json_valid(ranges));

-- laid over the other plans for a span: ends none of them, and none of them ends it
ALTER TABLE plan_version ADD COLUMN overlay INTEGER NOT NULL DEFAULT 0 CHECK (overlay IN (0, 1));

ALTER TABLE stay ADD COLUMN previous_stay_id TEXT REFERENCES stay CHECK (previous_stay_id <> stay_id);
CREATE INDEX stay_discharged ON stay (ward_id, discharged_at_ms) WHERE discharged_at_ms IS NOT NULL;

ALTER TABLE reading ADD COLUMN meter_id TEXT;
ALTER TABLE reading ADD COLUMN strip_lot TEXT;
-- a recall asks by meter, by lot, and between two instants; the audit by ward and day
CREATE INDEX reading_by_meter ON reading (meter_id, taken_at_ms) WHERE meter_id IS NOT NULL;
CREATE INDEX reading_by_lot ON reading (strip_lot, taken_at_ms) WHERE strip_lot IS NOT NULL;
CREATE INDEX reading_by_ward ON reading (ward_id, ward_date);
-- databases of this program's first day have these two already
DROP INDEX IF EXISTS patient_day_by_ward;
DROP INDEX IF EXISTS ledger_by_stay;
CREATE INDEX patient_day_by_ward ON patient_day (ward_id, ward_date);
CREATE INDEX ledger_by_stay ON ledger (stay_id, seq) WHERE stay_id IS NOT NULL;

-- A number that touches a dose takes two administrators: the one who wrote the change never approves it.
CREATE TABLE policy_change (
  change_id      TEXT PRIMARY KEY NOT NULL,
  ward_id        TEXT NOT NULL REFERENCES ward,
  based_on       INTEGER NOT NULL CHECK (based_on >= 1),
  policy         TEXT NOT NULL CHECK (json_valid(policy)),
  from_ms        INTEGER NOT NULL,
  note           TEXT NOT NULL,
  written_by     TEXT NOT NULL,
  written_at_ms  INTEGER NOT NULL,
  outcome        TEXT CHECK (outcome IN ('approved', 'refused')),
  outcome_by     TEXT,
  outcome_at_ms  INTEGER,
  outcome_reason TEXT,
  CHECK ((outcome IS NULL) = (outcome_by IS NULL) AND (outcome IS NULL) = (outcome_at_ms IS NULL)),
  CHECK (outcome IS NOT 'approved' OR outcome_by <> written_by)
) STRICT;

-- by whom a version was set, when, after which change and why
ALTER TABLE policy_version ADD COLUMN set_by TEXT NOT NULL DEFAULT '';
ALTER TABLE policy_version ADD COLUMN charted_at_ms INTEGER NOT NULL DEFAULT 0;
ALTER TABLE policy_version ADD COLUMN change_id TEXT REFERENCES policy_change;
ALTER TABLE policy_version ADD COLUMN note TEXT NOT NULL DEFAULT '';

CREATE INDEX policy_change_by_ward ON policy_change (ward_id, written_at_ms);

CREATE TABLE standard_order (
  standard_order_id TEXT NOT NULL,
  version           INTEGER NOT NULL CHECK (version >= 1),
  ward_id           TEXT NOT NULL REFERENCES ward,
  name              TEXT NOT NULL,
  insulin_order     TEXT NOT NULL CHECK (json_valid(insulin_order)),
  written_by        TEXT NOT NULL,
  written_at_ms     INTEGER NOT NULL,
  approved_by       TEXT CHECK (approved_by <> written_by),
  approved_at_ms    INTEGER,
  ended_at_ms       INTEGER,
  PRIMARY KEY (standard_order_id, version),
  CHECK ((approved_by IS NULL) = (approved_at_ms IS NULL))
) STRICT;

CREATE INDEX standard_order_by_ward ON standard_order (ward_id);

CREATE TABLE order_verification (
  order_id TEXT NOT NULL,
  version  INTEGER NOT NULL,
  number   INTEGER NOT NULL CHECK (number >= 1),
  answers  TEXT NOT NULL CHECK (json_valid(answers)),
  agreed   INTEGER NOT NULL CHECK (agreed IN (0, 1)),
  by_id    TEXT NOT NULL,
  at_ms    INTEGER NOT NULL,
  PRIMARY KEY (order_id, version, number),
  FOREIGN KEY (order_id, version) REFERENCES order_version (order_id, version)
) STRICT;

CREATE TABLE control (
  meter_id TEXT NOT NULL REFERENCES meter,
  number   INTEGER NOT NULL CHECK (number >= 1),
  at_ms    INTEGER NOT NULL,
  fact     TEXT NOT NULL CHECK (json_valid(fact)),
  PRIMARY KEY (meter_id, number)
) STRICT;

CREATE INDEX control_by_time ON control (meter_id, at_ms);

CREATE TABLE comparison (
  comparison_id TEXT PRIMARY KEY NOT NULL,
  meter_id      TEXT NOT NULL REFERENCES meter,
  at_ms         INTEGER NOT NULL,
  fact          TEXT NOT NULL CHECK (json_valid(fact))
) STRICT;

CREATE INDEX comparison_by_meter ON comparison (meter_id, at_ms);

CREATE TABLE facts_version (
  stay_id TEXT NOT NULL REFERENCES stay,
  number  INTEGER NOT NULL CHECK (number >= 1),
  facts   TEXT NOT NULL CHECK (json_valid(facts)),
  at_ms   INTEGER NOT NULL,
  by_id   TEXT NOT NULL,
  PRIMARY KEY (stay_id, number)
) STRICT;

CREATE TABLE feed_interruption (
  interruption_id TEXT PRIMARY KEY NOT NULL,
  stay_id         TEXT NOT NULL REFERENCES stay,
  reason          TEXT NOT NULL,
  from_ms         INTEGER NOT NULL,
  until_ms        INTEGER CHECK (until_ms >= from_ms),
  by_id           TEXT NOT NULL
) STRICT;

CREATE INDEX feed_interruption_by_stay ON feed_interruption (stay_id, from_ms);
-- one feed is stopped once at a time
CREATE UNIQUE INDEX feed_interruption_open ON feed_interruption (stay_id) WHERE until_ms IS NULL;

-- outside the ledger: the code with which a person sets a PIN
CREATE TABLE pin_code (
  staff_id      TEXT PRIMARY KEY NOT NULL REFERENCES staff,
  code_hash     TEXT NOT NULL CHECK (length(code_hash) >= 20),
  expires_at_ms INTEGER NOT NULL
) STRICT;

INSERT INTO note (name, text) VALUES ('rebuild', 'The derived tables are filled anew from the ledger when this database is next opened.')
ON CONFLICT (name) DO NOTHING;

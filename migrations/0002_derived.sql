-- Working tables, each derived from the ledger by server/store/apply.ts and rebuilt by `npm run verify`. Where a column
-- holds JSON it is the whole fact as the rules know it; the columns beside it are what is searched by.

CREATE TABLE ward (
  ward_id      TEXT PRIMARY KEY NOT NULL,
  name         TEXT NOT NULL,
  beds         TEXT NOT NULL CHECK (json_valid(beds)),
  data_version INTEGER NOT NULL CHECK (data_version >= 0)
) STRICT;

CREATE TABLE policy_version (
  ward_id TEXT NOT NULL REFERENCES ward,
  version INTEGER NOT NULL CHECK (version >= 1),
  from_ms INTEGER NOT NULL,
  policy  TEXT NOT NULL CHECK (json_valid(policy)),
  PRIMARY KEY (ward_id, version)
) STRICT;

CREATE TABLE staff (
  staff_id TEXT PRIMARY KEY NOT NULL,
  badge    TEXT NOT NULL UNIQUE CHECK (length(badge) > 0),
  name     TEXT NOT NULL,
  role     TEXT NOT NULL CHECK (role IN ('floor-nurse', 'charge-nurse', 'educator', 'administrator')),
  ward_ids TEXT NOT NULL CHECK (json_valid(ward_ids))
) STRICT;

CREATE TABLE beds_taken (
  ward_id  TEXT NOT NULL REFERENCES ward,
  staff_id TEXT NOT NULL REFERENCES staff,
  beds     TEXT NOT NULL CHECK (json_valid(beds)),
  PRIMARY KEY (ward_id, staff_id)
) STRICT;

CREATE TABLE meter (
  meter_id       TEXT PRIMARY KEY NOT NULL,
  serial         TEXT NOT NULL UNIQUE,
  ward_id        TEXT NOT NULL REFERENCES ward,
  unit           TEXT NOT NULL CHECK (unit IN ('mg/dL', 'mmol/L')),
  control_passed INTEGER CHECK (control_passed IN (0, 1)),
  control_at_ms  INTEGER,
  CHECK ((control_passed IS NULL) = (control_at_ms IS NULL))
) STRICT;

CREATE INDEX meter_by_ward ON meter (ward_id);

CREATE TABLE strip_lot (
  ward_id    TEXT NOT NULL REFERENCES ward,
  lot        TEXT NOT NULL,
  expires_on TEXT NOT NULL CHECK (expires_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
  PRIMARY KEY (ward_id, lot)
) STRICT;

CREATE TABLE stay (
  stay_id          TEXT PRIMARY KEY NOT NULL,
  ward_id          TEXT NOT NULL REFERENCES ward,
  bed              TEXT NOT NULL,
  wristband        TEXT NOT NULL CHECK (length(wristband) > 0),
  family_name      TEXT NOT NULL,
  given_name       TEXT NOT NULL,
  born_on          TEXT NOT NULL CHECK (born_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
  admitted_at_ms   INTEGER NOT NULL,
  discharged_at_ms INTEGER,
  on_ward_since_ms INTEGER NOT NULL,
  facts            TEXT NOT NULL CHECK (json_valid(facts))
) STRICT;

CREATE INDEX stay_present ON stay (ward_id) WHERE discharged_at_ms IS NULL;
-- one wristband is worn by one patient at a time
CREATE UNIQUE INDEX stay_wristband ON stay (wristband) WHERE discharged_at_ms IS NULL;

CREATE TABLE stay_bed (
  stay_id TEXT NOT NULL REFERENCES stay,
  number  INTEGER NOT NULL CHECK (number >= 1),
  ward_id TEXT NOT NULL REFERENCES ward,
  bed     TEXT NOT NULL,
  from_ms INTEGER NOT NULL,
  to_ms   INTEGER,
  PRIMARY KEY (stay_id, number)
) STRICT;

CREATE TABLE plan_version (
  stay_id  TEXT NOT NULL REFERENCES stay,
  version  INTEGER NOT NULL CHECK (version >= 1),
  plan     TEXT NOT NULL CHECK (json_valid(plan)),
  from_ms  INTEGER NOT NULL,
  until_ms INTEGER CHECK (until_ms >= from_ms),
  PRIMARY KEY (stay_id, version)
) STRICT;

CREATE TABLE order_version (
  order_id       TEXT NOT NULL,
  version        INTEGER NOT NULL CHECK (version >= 1),
  stay_id        TEXT NOT NULL REFERENCES stay,
  insulin_order  TEXT NOT NULL CHECK (json_valid(insulin_order)),
  written_at_ms  INTEGER NOT NULL,
  transcribed_by TEXT NOT NULL,
  verified_by    TEXT CHECK (verified_by <> transcribed_by),
  verified_at_ms INTEGER,
  stops_at_ms    INTEGER,
  ended_at_ms    INTEGER,
  PRIMARY KEY (order_id, version),
  CHECK ((verified_by IS NULL) = (verified_at_ms IS NULL))
) STRICT;

CREATE INDEX order_version_by_stay ON order_version (stay_id);

CREATE TABLE tray_delay (
  ward_id TEXT NOT NULL REFERENCES ward,
  date    TEXT NOT NULL,
  meal    TEXT NOT NULL CHECK (meal IN ('breakfast', 'lunch', 'supper')),
  minutes INTEGER NOT NULL,
  PRIMARY KEY (ward_id, date, meal)
) STRICT;

CREATE TABLE tray (
  stay_id             TEXT NOT NULL REFERENCES stay,
  date                TEXT NOT NULL,
  meal                TEXT NOT NULL CHECK (meal IN ('breakfast', 'lunch', 'supper')),
  served_at_ms        INTEGER,
  share_eaten_percent INTEGER CHECK (share_eaten_percent IN (0, 25, 50, 75, 100)),
  PRIMARY KEY (stay_id, date, meal)
) STRICT;

CREATE TABLE reading (
  reading_id    TEXT PRIMARY KEY NOT NULL,
  stay_id       TEXT NOT NULL REFERENCES stay,
  ward_id       TEXT NOT NULL REFERENCES ward,
  ward_date     TEXT NOT NULL CHECK (ward_date GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
  check_key     TEXT,
  taken_at_ms   INTEGER NOT NULL,
  charted_at_ms INTEGER NOT NULL CHECK (charted_at_ms >= taken_at_ms),
  unit          TEXT NOT NULL CHECK (unit IN ('mg/dL', 'mmol/L')),
  -- whole mg/dL or whole tenths of mmol/L; null for LO and HI
  value         INTEGER CHECK (value > 0),
  out_of_range  TEXT CHECK (out_of_range IN ('LO', 'HI')),
  effective     INTEGER NOT NULL CHECK (effective IN (0, 1)),
  fact          TEXT NOT NULL CHECK (json_valid(fact)),
  CHECK ((value IS NULL) <> (out_of_range IS NULL))
) STRICT;

CREATE INDEX reading_by_stay ON reading (stay_id, taken_at_ms);
CREATE INDEX reading_by_day ON reading (stay_id, ward_date, ward_id) WHERE effective = 1;

-- One row accounts for one check, whoever was first: the primary key decides a race.
CREATE TABLE check_outcome (
  check_key  TEXT PRIMARY KEY NOT NULL,
  stay_id    TEXT NOT NULL REFERENCES stay,
  kind       TEXT NOT NULL CHECK (kind IN ('done', 'excused')),
  reading_id TEXT UNIQUE REFERENCES reading,
  at_ms      INTEGER NOT NULL,
  reason     TEXT,
  note       TEXT,
  by_id      TEXT,
  CHECK ((kind = 'done') = (reading_id IS NOT NULL)),
  CHECK ((kind = 'excused') = (reason IS NOT NULL AND note IS NOT NULL AND by_id IS NOT NULL))
) STRICT;

CREATE INDEX check_outcome_by_stay ON check_outcome (stay_id, at_ms);

CREATE TABLE patient_day (
  stay_id        TEXT NOT NULL REFERENCES stay,
  ward_id        TEXT NOT NULL REFERENCES ward,
  ward_date      TEXT NOT NULL,
  unit           TEXT NOT NULL CHECK (unit IN ('mg/dL', 'mmol/L')),
  readings       INTEGER NOT NULL CHECK (readings >= 1),
  numeric        INTEGER NOT NULL CHECK (numeric BETWEEN 0 AND readings),
  sum            INTEGER NOT NULL,
  sum_of_squares INTEGER NOT NULL,
  least          INTEGER,
  most           INTEGER,
  below_54       INTEGER NOT NULL,
  below_70       INTEGER NOT NULL,
  in_70_to_180   INTEGER NOT NULL,
  above_180      INTEGER NOT NULL,
  above_250      INTEGER NOT NULL,
  above_300      INTEGER NOT NULL,
  lo             INTEGER NOT NULL,
  hi             INTEGER NOT NULL,
  PRIMARY KEY (stay_id, ward_date, ward_id)
) STRICT;

CREATE TABLE dose (
  dose_id         TEXT PRIMARY KEY NOT NULL,
  stay_id         TEXT NOT NULL REFERENCES stay,
  ward_id         TEXT NOT NULL REFERENCES ward,
  kind            TEXT NOT NULL CHECK (kind IN ('from-reading', 'scheduled', 'by-direction', 'after-meal')),
  reading_id      TEXT REFERENCES reading,
  slot_key        TEXT,
  order_id        TEXT NOT NULL,
  insulin         TEXT NOT NULL,
  proposed_at_ms  INTEGER NOT NULL,
  elsewhere_asked INTEGER NOT NULL CHECK (elsewhere_asked IN (0, 1)),
  -- no outcome and not voided
  open            INTEGER NOT NULL CHECK (open IN (0, 1)),
  -- open, and a second nurse still has something to do
  awaiting        INTEGER NOT NULL CHECK (awaiting IN (0, 1) AND awaiting <= open),
  given_at_ms     INTEGER,
  fact            TEXT NOT NULL CHECK (json_valid(fact)),
  CHECK (open = 0 OR given_at_ms IS NULL)
) STRICT;

CREATE INDEX dose_by_stay ON dose (stay_id, proposed_at_ms);
CREATE INDEX dose_by_reading ON dose (reading_id) WHERE reading_id IS NOT NULL;
CREATE INDEX dose_open ON dose (stay_id) WHERE open = 1;
CREATE INDEX dose_awaiting ON dose (ward_id, proposed_at_ms) WHERE awaiting = 1;
CREATE INDEX dose_given ON dose (stay_id, given_at_ms) WHERE given_at_ms IS NOT NULL;
-- a slot is given once, and one order yields one given dose for one reading, whoever else pressed the button
CREATE UNIQUE INDEX dose_slot_given_once ON dose (slot_key) WHERE slot_key IS NOT NULL AND given_at_ms IS NOT NULL;
CREATE UNIQUE INDEX dose_reading_given_once ON dose (reading_id, order_id) WHERE kind = 'from-reading' AND given_at_ms IS NOT NULL;

CREATE TABLE outside_dose (
  outside_dose_id TEXT PRIMARY KEY NOT NULL,
  stay_id         TEXT NOT NULL REFERENCES stay,
  insulin         TEXT NOT NULL,
  given_at_ms     INTEGER NOT NULL,
  charted_at_ms   INTEGER NOT NULL CHECK (charted_at_ms >= given_at_ms),
  fact            TEXT NOT NULL CHECK (json_valid(fact))
) STRICT;

CREATE INDEX outside_dose_by_stay ON outside_dose (stay_id, given_at_ms);

CREATE TABLE direction (
  direction_id TEXT PRIMARY KEY NOT NULL,
  stay_id      TEXT NOT NULL REFERENCES stay,
  at_ms        INTEGER NOT NULL,
  fact         TEXT NOT NULL CHECK (json_valid(fact))
) STRICT;

CREATE INDEX direction_by_stay ON direction (stay_id, at_ms);

CREATE TABLE low_event (
  low_id               TEXT PRIMARY KEY NOT NULL,
  stay_id              TEXT NOT NULL REFERENCES stay,
  ward_id              TEXT NOT NULL REFERENCES ward,
  opened_by_reading_id TEXT NOT NULL UNIQUE REFERENCES reading,
  opened_at_ms         INTEGER NOT NULL,
  treatments           TEXT NOT NULL CHECK (json_valid(treatments)),
  closed_at_ms         INTEGER,
  previous_low_id      TEXT REFERENCES low_event
) STRICT;

CREATE INDEX low_event_by_stay ON low_event (stay_id, opened_at_ms);
-- a low reading during an open event continues it
CREATE UNIQUE INDEX low_event_open ON low_event (stay_id) WHERE closed_at_ms IS NULL;

CREATE TABLE open_item (
  item_id    TEXT PRIMARY KEY NOT NULL,
  kind       TEXT NOT NULL CHECK (kind IN ('low', 'critical', 'second-check', 'insulin-question', 'flag', 'insulin-no-tray')),
  ward_id    TEXT NOT NULL REFERENCES ward,
  stay_id    TEXT NOT NULL REFERENCES stay,
  since_ms   INTEGER NOT NULL,
  subject_id TEXT NOT NULL,
  detail     TEXT NOT NULL
) STRICT;

CREATE INDEX open_item_by_ward ON open_item (ward_id, since_ms);
CREATE INDEX open_item_by_stay ON open_item (stay_id, since_ms);

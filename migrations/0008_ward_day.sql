-- The patient-day figures in the order of their stays, so that stays are summed without sorting, and their sums by ward
-- and day, so that a year of a hospital is summed from some thousand rows. Both come from events that are in the ledger,
-- so the derived tables are filled anew from it when this database is next opened (server/store/rebuild.ts).

DROP TABLE patient_day;
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
  low_risk       INTEGER NOT NULL CHECK (low_risk >= 0),
  high_risk      INTEGER NOT NULL CHECK (high_risk >= 0),
  -- the stay has figures on another ward for the same date: counted once for the hospital
  shared         INTEGER NOT NULL CHECK (shared IN (0, 1)),
  PRIMARY KEY (stay_id, ward_date, ward_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX patient_day_by_ward ON patient_day (ward_id, ward_date);
CREATE INDEX patient_day_shared ON patient_day (ward_date) WHERE shared = 1;

CREATE TABLE ward_day (
  ward_id           TEXT NOT NULL REFERENCES ward,
  ward_date         TEXT NOT NULL,
  unit              TEXT NOT NULL CHECK (unit IN ('mg/dL', 'mmol/L')),
  readings          INTEGER NOT NULL CHECK (readings >= 1),
  numeric           INTEGER NOT NULL CHECK (numeric BETWEEN 0 AND readings),
  sum               INTEGER NOT NULL,
  sum_of_squares    INTEGER NOT NULL,
  below_54          INTEGER NOT NULL,
  below_70          INTEGER NOT NULL,
  in_70_to_180      INTEGER NOT NULL,
  above_180         INTEGER NOT NULL,
  above_250         INTEGER NOT NULL,
  above_300         INTEGER NOT NULL,
  lo                INTEGER NOT NULL,
  hi                INTEGER NOT NULL,
  low_risk          INTEGER NOT NULL,
  high_risk         INTEGER NOT NULL,
  -- patient-days that are this ward's alone; those shared with another ward are summed from patient_day
  days              INTEGER NOT NULL,
  days_numeric      INTEGER NOT NULL,
  day_means         INTEGER NOT NULL,
  days_below_54     INTEGER NOT NULL,
  days_below_70     INTEGER NOT NULL,
  days_in_70_to_180 INTEGER NOT NULL,
  days_above_180    INTEGER NOT NULL,
  days_above_250    INTEGER NOT NULL,
  days_above_300    INTEGER NOT NULL,
  PRIMARY KEY (ward_id, ward_date, unit)
) STRICT, WITHOUT ROWID;

INSERT INTO note (name, text) VALUES ('rebuild', 'The derived tables are filled anew from the ledger when this database is next opened.')
ON CONFLICT (name) DO NOTHING;

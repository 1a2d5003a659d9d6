-- What the ward board and the audit derive from: near misses, the educator's notes, whose an open need is, since when a
-- nurse has her beds, and the risk sums of a patient-day. All of it comes from events that are in the ledger, so the
-- derived tables are filled anew from it when this database is next opened (server/store/rebuild.ts).

ALTER TABLE patient_day ADD COLUMN low_risk INTEGER NOT NULL DEFAULT 0 CHECK (low_risk >= 0);
ALTER TABLE patient_day ADD COLUMN high_risk INTEGER NOT NULL DEFAULT 0 CHECK (high_risk >= 0);
-- the stay has figures on another ward for the same date: counted once for the hospital
ALTER TABLE patient_day ADD COLUMN shared INTEGER NOT NULL DEFAULT 0 CHECK (shared IN (0, 1));
CREATE INDEX patient_day_shared ON patient_day (ward_date) WHERE shared = 1;

ALTER TABLE beds_taken ADD COLUMN at_ms INTEGER NOT NULL DEFAULT 0;

CREATE INDEX low_event_by_ward ON low_event (ward_id, opened_at_ms);
CREATE INDEX dose_given_by_ward ON dose (ward_id, given_at_ms) WHERE given_at_ms IS NOT NULL;
CREATE INDEX reading_by_ward_time ON reading (ward_id, taken_at_ms) WHERE effective = 1;
CREATE INDEX stay_bed_by_ward ON stay_bed (ward_id, from_ms);

CREATE TABLE near_miss (
  ward_id    TEXT NOT NULL REFERENCES ward,
  number     INTEGER NOT NULL CHECK (number >= 1),
  kind       TEXT NOT NULL CHECK (kind IN ('wristband', 'second-check-differed', 'wrong-unit', 'guard-stopped', 'verification-differed')),
  stay_id    TEXT REFERENCES stay,
  subject_id TEXT,
  by_id      TEXT NOT NULL,
  at_ms      INTEGER NOT NULL,
  details    TEXT NOT NULL CHECK (json_valid(details)),
  PRIMARY KEY (ward_id, number)
) STRICT;

CREATE INDEX near_miss_by_time ON near_miss (ward_id, at_ms);

CREATE TABLE audit_note (
  note_id   TEXT PRIMARY KEY NOT NULL,
  low_id    TEXT NOT NULL REFERENCES low_event,
  finding   TEXT NOT NULL,
  follow_up TEXT NOT NULL,
  by_id     TEXT NOT NULL,
  at_ms     INTEGER NOT NULL
) STRICT;

CREATE INDEX audit_note_by_low ON audit_note (low_id, at_ms);

CREATE TABLE need_handed (
  need_key    TEXT PRIMARY KEY NOT NULL,
  ward_id     TEXT NOT NULL REFERENCES ward,
  to_staff_id TEXT NOT NULL REFERENCES staff,
  by_id       TEXT NOT NULL,
  at_ms       INTEGER NOT NULL
) STRICT;

CREATE INDEX need_handed_by_ward ON need_handed (ward_id);

INSERT INTO note (name, text) VALUES ('rebuild', 'The derived tables are filled anew from the ledger when this database is next opened.')
ON CONFLICT (name) DO NOTHING;

-- What is charted in a low event besides its treatments, calls about critical results, and symptoms with no low number.

ALTER TABLE low_event ADD COLUMN charted TEXT NOT NULL DEFAULT '{"answers":[],"findings":[],"emergencyCalls":[],"prescriberCalls":[],"food":[],"insulinAnswers":[],"closing":null}' CHECK (json_valid(charted));
ALTER TABLE low_event ADD COLUMN previous_closed_at_ms INTEGER;

CREATE TABLE critical_call (
  reading_id TEXT NOT NULL REFERENCES reading,
  at_ms      INTEGER NOT NULL,
  stay_id    TEXT NOT NULL REFERENCES stay,
  fact       TEXT NOT NULL CHECK (json_valid(fact)),
  PRIMARY KEY (reading_id, at_ms)
) STRICT;

CREATE INDEX critical_call_by_stay ON critical_call (stay_id, at_ms);

CREATE TABLE symptoms (
  symptoms_id TEXT PRIMARY KEY NOT NULL,
  stay_id     TEXT NOT NULL REFERENCES stay,
  at_ms       INTEGER NOT NULL,
  fact        TEXT NOT NULL CHECK (json_valid(fact))
) STRICT;

CREATE INDEX symptoms_by_stay ON symptoms (stay_id, at_ms);

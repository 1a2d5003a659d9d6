-- What is charted about a patient beside readings, doses and lows: one row for each entry (shared/care/entries.ts).
CREATE TABLE stay_entry (
  entry_id TEXT PRIMARY KEY NOT NULL,
  stay_id  TEXT NOT NULL REFERENCES stay,
  kind     TEXT NOT NULL,
  at_ms    INTEGER NOT NULL,
  fact     TEXT NOT NULL CHECK (json_valid(fact))
) STRICT;
CREATE INDEX stay_entry_of_stay ON stay_entry (stay_id, at_ms);

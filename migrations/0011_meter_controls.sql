-- Every control of a meter with its verdict, so that a reading charted later is judged by the control that counted when
-- it was taken. The table meter keeps the last one only. The controls come from events that are in the ledger, so the
-- derived tables are filled anew from it when this database is next opened (server/store/rebuild.ts).
CREATE TABLE meter_control (
  meter_id TEXT NOT NULL REFERENCES meter,
  at_ms    INTEGER NOT NULL,
  number   INTEGER NOT NULL CHECK (number >= 1),
  passed   INTEGER NOT NULL CHECK (passed IN (0, 1)),
  PRIMARY KEY (meter_id, at_ms, number)
) STRICT, WITHOUT ROWID;

INSERT INTO note (name, text) VALUES ('rebuild', 'The derived tables are filled anew from the ledger when this database is next opened.')
ON CONFLICT (name) DO NOTHING;

-- A patient who leaves with something open is handed over to a named person; until then the charge nurse has an item of
-- its own kind. SQLite cannot change a CHECK, so the table is made again with its rows.
CREATE TABLE open_item_again (
  item_id    TEXT PRIMARY KEY NOT NULL,
  kind       TEXT NOT NULL CHECK (kind IN ('low', 'critical', 'second-check', 'insulin-question', 'flag', 'insulin-no-tray', 'handover')),
  ward_id    TEXT NOT NULL REFERENCES ward,
  stay_id    TEXT NOT NULL REFERENCES stay,
  since_ms   INTEGER NOT NULL,
  subject_id TEXT NOT NULL,
  detail     TEXT NOT NULL
) STRICT;
INSERT INTO open_item_again SELECT item_id, kind, ward_id, stay_id, since_ms, subject_id, detail FROM open_item ORDER BY rowid;
DROP TABLE open_item;
ALTER TABLE open_item_again RENAME TO open_item;
CREATE INDEX open_item_by_ward ON open_item (ward_id, since_ms);
CREATE INDEX open_item_by_stay ON open_item (stay_id, since_ms);

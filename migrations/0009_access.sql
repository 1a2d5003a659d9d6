-- What the access report asks of the log of reads: what kind of look it was, of which ward's patients, by somebody of that
-- ward or not, and a way to each that does not go through the whole log.

ALTER TABLE access_log ADD COLUMN kind TEXT NOT NULL DEFAULT 'patient' CHECK (kind IN ('patient', 'ward', 'refused', 'report'));
-- the person's role at the time; null in rows that are older than this column
ALTER TABLE access_log ADD COLUMN role TEXT;
-- the ward whose patients were shown, asked for or reported on; ward_id is the ward that the login had chosen
ALTER TABLE access_log ADD COLUMN of_ward_id TEXT;
-- whether the person belonged to that ward at the time; null where it was not noted
ALTER TABLE access_log ADD COLUMN own_ward INTEGER CHECK (own_ward IN (0, 1));
-- the person whom a report was about
ALTER TABLE access_log ADD COLUMN subject_id TEXT;

-- older rows get the new columns as far as the record tells them; nothing that was noted is changed
DROP TRIGGER access_log_not_changed;
UPDATE access_log SET
  kind = CASE WHEN stay_id IS NULL THEN 'ward' ELSE 'patient' END,
  of_ward_id = CASE WHEN stay_id IS NULL THEN ward_id ELSE COALESCE(
    (SELECT stay_bed.ward_id FROM stay_bed WHERE stay_bed.stay_id = access_log.stay_id AND stay_bed.from_ms <= access_log.at_ms ORDER BY stay_bed.number DESC LIMIT 1),
    (SELECT stay.ward_id FROM stay WHERE stay.stay_id = access_log.stay_id)) END;
CREATE TRIGGER access_log_not_changed BEFORE UPDATE ON access_log
BEGIN SELECT RAISE(ABORT, 'the access log is never changed'); END;

CREATE INDEX access_log_by_person ON access_log (staff_id, at_ms);
-- a ward has most rows by far: what is counted by person stands in the index itself
CREATE INDEX access_log_by_ward ON access_log (of_ward_id, at_ms, access_id, staff_id, kind, own_ward) WHERE of_ward_id IS NOT NULL;
CREATE INDEX stay_by_wristband ON stay (wristband);

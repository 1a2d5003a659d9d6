-- A low after the follow-up is a new event, although the one before still waits for its paperwork: a stay may have two
-- open low events. At most one of them is followed: the others name the event that took over from them.
DROP INDEX low_event_open;
CREATE UNIQUE INDEX low_event_followed ON low_event (stay_id) WHERE closed_at_ms IS NULL AND json_extract(charted, '$.next') IS NULL;

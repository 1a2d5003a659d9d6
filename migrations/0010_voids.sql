-- From here on a dose is void because a row of the ledger says so (dose-voided). The one row 'voids-are-events' parts the
-- older rows, in which voids were implied, from those after it. A program of an older schema knows neither kind of row
-- and must not open such a ledger. The derived tables stay as they are: they hold the implied voids already.
CREATE UNIQUE INDEX ledger_marked_once ON ledger (type) WHERE type = 'voids-are-events';

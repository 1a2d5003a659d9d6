-- Facts about the file itself, never clinical ones: that it is a demo's, and where the demo's clock stands.

CREATE TABLE note (
  name TEXT PRIMARY KEY NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
  text TEXT NOT NULL CHECK (length(text) <= 2000)
) STRICT;

-- Which raw readings were dropped (retention); the hours keep what they said. One row.
-- Those up to seq are gone, but for the last news of each series; after to_ms (event time) every reading is there.
CREATE TABLE dropped (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    seq INTEGER NOT NULL,
    to_ms INTEGER NOT NULL,
    readings INTEGER NOT NULL
) STRICT;
INSERT INTO dropped (id, seq, to_ms, readings) VALUES (1, 0, -1, 0);

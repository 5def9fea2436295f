-- Photos of lay-up records, by vessel and the SHA-256 of their bytes; never changed once written.
CREATE TABLE photo (
    vessel TEXT NOT NULL,
    id TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    actor TEXT NOT NULL,
    jpeg BLOB NOT NULL,
    PRIMARY KEY (vessel, id)
) STRICT;

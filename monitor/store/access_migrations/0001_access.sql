-- Those who may sign in, and the secrets by which they are known: kept as hashes only, in a file of its own beside the
-- journal, so that a copy of the journal or a report made of it lets nobody in.

CREATE TABLE account (
    login TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    grade TEXT NOT NULL,
    email TEXT,
    password TEXT,
    made_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE secret (
    hash TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    login TEXT REFERENCES account (login) ON DELETE CASCADE,
    name TEXT NOT NULL,
    vessels TEXT,
    made_ms INTEGER NOT NULL,
    used_ms INTEGER NOT NULL,
    ends_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX secret_of ON secret (login, kind);

-- What people said at the launch gate, in its order: a copy of those inputs by vessel, never changed once written.
CREATE TABLE gate (
    seq INTEGER PRIMARY KEY,
    vessel TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;
CREATE INDEX gate_of_vessel ON gate (vessel, seq);

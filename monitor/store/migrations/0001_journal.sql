-- The journal. Times are integer milliseconds UTC. seq is the one rising order in which the watch folds its inputs.

CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    vessel TEXT NOT NULL,
    sensor TEXT NOT NULL,
    UNIQUE (vessel, sensor)
) STRICT;

-- Identity of a reading is (series, stated_ms), even where the stated time is a fault.
-- mark is a sum: 1 late, 2 clock fault (folded at arrival), 4 not news.
CREATE TABLE reading (
    series INTEGER NOT NULL REFERENCES series (id),
    stated_ms INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    event_ms INTEGER NOT NULL,
    arrived_ms INTEGER NOT NULL,
    value REAL NOT NULL,
    flag INTEGER NOT NULL,
    mark INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (series, stated_ms)
) WITHOUT ROWID, STRICT;
CREATE UNIQUE INDEX reading_by_seq ON reading (seq);

-- Hours of believable and suspect readings (failed ones count in worst only; clock faults and not-news in nothing).
CREATE TABLE hour (
    series INTEGER NOT NULL REFERENCES series (id),
    hour_ms INTEGER NOT NULL,
    low REAL,
    high REAL,
    total REAL NOT NULL,
    count INTEGER NOT NULL,
    worst INTEGER NOT NULL,
    PRIMARY KEY (series, hour_ms)
) WITHOUT ROWID, STRICT;

-- Every other input of the fold: clock, record, acknowledge, deaf.
CREATE TABLE input (
    seq INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    vessel TEXT,
    at_ms INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;

-- Versions of lay-up records, never changed once written.
CREATE TABLE record (
    vessel TEXT NOT NULL,
    version INTEGER NOT NULL,
    from_ms INTEGER NOT NULL,
    seq INTEGER NOT NULL UNIQUE,
    actor TEXT NOT NULL,
    document TEXT NOT NULL,
    PRIMARY KEY (vessel, version)
) WITHOUT ROWID, STRICT;

CREATE TABLE snapshot (
    vessel TEXT PRIMARY KEY,
    seq INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;

CREATE TABLE alert (
    id TEXT PRIMARY KEY,
    vessel TEXT NOT NULL,
    rule TEXT NOT NULL,
    subject TEXT NOT NULL,
    state TEXT NOT NULL,
    priority TEXT NOT NULL,
    highest TEXT NOT NULL,
    opened_ms INTEGER NOT NULL,
    returned_ms INTEGER,
    ended_ms INTEGER,
    acknowledged_ms INTEGER,
    acknowledged_by TEXT,
    finding TEXT NOT NULL,
    seq INTEGER NOT NULL
) STRICT;
CREATE INDEX alert_by_vessel ON alert (vessel, opened_ms);
CREATE INDEX alert_open ON alert (vessel) WHERE ended_ms IS NULL;

-- What rules cannot say of a vessel now, as findings; in the transaction of whatever changed it.
CREATE TABLE not_known (
    vessel TEXT PRIMARY KEY,
    seq INTEGER NOT NULL,
    findings TEXT NOT NULL
) STRICT;

-- Append-only; each hash covers the one before it, so that a later edit shows.
CREATE TABLE alert_event (
    seq INTEGER NOT NULL,
    place INTEGER NOT NULL,
    alert TEXT NOT NULL REFERENCES alert (id),
    vessel TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    change TEXT NOT NULL,
    state TEXT NOT NULL,
    priority TEXT NOT NULL,
    was TEXT,
    actor TEXT NOT NULL,
    note TEXT NOT NULL,
    hash TEXT NOT NULL,
    PRIMARY KEY (seq, place)
) WITHOUT ROWID, STRICT;
CREATE INDEX alert_event_by_alert ON alert_event (alert, seq, place);

CREATE TABLE notice (
    id TEXT PRIMARY KEY,
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    person TEXT NOT NULL,
    alert TEXT NOT NULL REFERENCES alert (id),
    vessel TEXT NOT NULL,
    change TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    reason TEXT NOT NULL,
    seq INTEGER NOT NULL,
    sent_ms INTEGER,
    given_up_ms INTEGER,
    tries INTEGER NOT NULL DEFAULT 0,
    next_ms INTEGER NOT NULL DEFAULT 0,
    error TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX notice_waiting ON notice (next_ms) WHERE sent_ms IS NULL AND given_up_ms IS NULL;

CREATE TABLE reject (
    reason TEXT NOT NULL,
    topic TEXT NOT NULL,
    detail TEXT NOT NULL,
    first_ms INTEGER NOT NULL,
    last_ms INTEGER NOT NULL,
    count INTEGER NOT NULL,
    PRIMARY KEY (reason, topic)
) WITHOUT ROWID, STRICT;

CREATE TABLE tally (
    name TEXT PRIMARY KEY,
    count INTEGER NOT NULL
) WITHOUT ROWID, STRICT;

-- How far each reader of the journal has come, such as the history outbox.
CREATE TABLE cursor (
    name TEXT PRIMARY KEY,
    seq INTEGER NOT NULL
) WITHOUT ROWID, STRICT;

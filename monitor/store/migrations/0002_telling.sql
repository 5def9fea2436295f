-- Alerts that latch, are put aside and are in somebody's hands; calls; notices by call; visits; links used once.

ALTER TABLE alert ADD COLUMN latching INTEGER NOT NULL DEFAULT 0;
ALTER TABLE alert ADD COLUMN confirmed_ms INTEGER;
ALTER TABLE alert ADD COLUMN confirmed_by TEXT;
ALTER TABLE alert ADD COLUMN has_it TEXT;
ALTER TABLE alert ADD COLUMN offered_to TEXT;
ALTER TABLE alert ADD COLUMN aside_by TEXT;
ALTER TABLE alert ADD COLUMN aside_why TEXT NOT NULL DEFAULT '';
ALTER TABLE alert ADD COLUMN aside_until_ms INTEGER;

CREATE TABLE call (
    id TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    about TEXT NOT NULL,
    opened_ms INTEGER NOT NULL,
    priority TEXT,
    alerts TEXT NOT NULL,
    vessels TEXT NOT NULL,
    ended_ms INTEGER,
    accepted_ms INTEGER,
    accepted_by TEXT,
    rung INTEGER NOT NULL,
    seq INTEGER NOT NULL
) STRICT;
CREATE INDEX call_open ON call (opened_ms) WHERE ended_ms IS NULL;

-- One row: where whoever plans the notices stands, in the transaction of what brought it there.
CREATE TABLE telling (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    seq INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;

-- What was to be sent under the first form has been sent or waits: it is kept, under a call of its alert's own id.
ALTER TABLE notice RENAME TO notice_of_alert;
DROP INDEX notice_waiting;
CREATE TABLE notice (
    id TEXT PRIMARY KEY,
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    person TEXT NOT NULL,
    call TEXT NOT NULL,
    kind TEXT NOT NULL,
    alerts TEXT NOT NULL,
    vessel TEXT,
    owner INTEGER NOT NULL DEFAULT 0,
    language TEXT NOT NULL DEFAULT 'en',
    at_ms INTEGER NOT NULL,
    reason TEXT NOT NULL,
    seq INTEGER NOT NULL,
    sent_ms INTEGER,
    given_up_ms INTEGER,
    tries INTEGER NOT NULL DEFAULT 0,
    next_ms INTEGER NOT NULL DEFAULT 0,
    error TEXT NOT NULL DEFAULT '',
    link_used_ms INTEGER
) STRICT;
INSERT INTO notice (id, channel, address, person, call, kind, alerts, vessel, at_ms, reason, seq, sent_ms, given_up_ms,
    tries, next_ms, error)
SELECT id, channel, address, person, alert,
    CASE change WHEN 'opened' THEN 'new' WHEN 'returned' THEN 'over' WHEN 'ended' THEN 'over' ELSE 'worse' END,
    json_array(alert), vessel, at_ms, reason, seq, sent_ms, given_up_ms, tries, next_ms, error
FROM notice_of_alert ORDER BY rowid;
DROP TABLE notice_of_alert;
-- In the order of turns: of one call and address the oldest first. Only what waits stands in it.
CREATE INDEX notice_waiting ON notice (channel, call, address, seq) WHERE sent_ms IS NULL AND given_up_ms IS NULL;
CREATE INDEX notice_given_up ON notice (given_up_ms) WHERE given_up_ms IS NOT NULL;
CREATE INDEX notice_by_call ON notice (call, channel, address, seq);

-- Addresses that said they are gone for good.
CREATE TABLE disabled_address (
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    why TEXT NOT NULL,
    PRIMARY KEY (channel, address)
) WITHOUT ROWID, STRICT;

CREATE TABLE visit (
    seq INTEGER PRIMARY KEY,
    vessel TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    actor TEXT NOT NULL,
    body TEXT NOT NULL
) STRICT;
CREATE INDEX visit_by_vessel ON visit (vessel, at_ms);

-- What people said, found without going through every clock.
CREATE INDEX input_by_vessel ON input (vessel, seq) WHERE vessel IS NOT NULL;

"""Writes what came in and could not be used, and how often something worth counting happened."""

from itertools import groupby
from sqlite3 import Connection

from monitor.model.batch import Batch

REJECT_TOPICS_KEPT = 1_000
OTHER_TOPICS = "(other topics)"


def write_rejects(db: Connection, batch: Batch) -> None:
    """Write the rejects of a batch, one row a reason and topic, and add its counts, in its transaction."""
    if batch.rejects:
        (room,) = db.execute("SELECT count(*) < ? FROM reject", (REJECT_TOPICS_KEPT,)).fetchone()
        for (reason, topic), group in groupby(batch.rejects, key=lambda pair: (pair[1].reason, pair[1].topic)):
            same = list(group)
            known = db.execute("SELECT 1 FROM reject WHERE reason = ? AND topic = ?", (reason, topic))
            kept_topic = topic if room or known.fetchone() else OTHER_TOPICS
            at_ms, last = same[-1]
            db.execute(
                "INSERT INTO reject (reason, topic, detail, first_ms, last_ms, count) VALUES (?, ?, ?, ?, ?, ?)"
                " ON CONFLICT (reason, topic) DO UPDATE SET detail = excluded.detail, last_ms = excluded.last_ms,"
                " count = count + excluded.count",
                (reason, kept_topic, last.detail, same[0][0], at_ms, len(same)),
            )
    db.executemany(
        "INSERT INTO tally (name, count) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET count = count + excluded.count",
        batch.counts.items(),
    )

"""Whether what stands twice in a journal is the same: what people said at a gate and on visits, and records."""

import sqlite3

from monitor.store.checked import Said

_CONFIRMED = "coalesce(input.kind, 'none') = 'confirm'"
"""Who confirms an alert aboard was on a visit by that: it is written down as one."""

_FAULTS = (
    ("word at a gate", "SELECT seq FROM gate LEFT JOIN input USING (seq) WHERE input.body IS NOT gate.body"),
    (
        "word at a gate",
        "SELECT seq FROM input LEFT JOIN gate USING (seq) WHERE kind = 'gate' AND gate.seq IS NULL",
    ),
    (
        "visit",
        f"SELECT seq FROM visit LEFT JOIN input USING (seq) WHERE NOT {_CONFIRMED} AND input.body IS NOT visit.body",
    ),
    ("visit", "SELECT seq FROM input LEFT JOIN visit USING (seq) WHERE kind = 'visit' AND visit.seq IS NULL"),
    ("version of a record", "SELECT seq FROM record LEFT JOIN input USING (seq) WHERE input.kind IS NOT 'record'"),
    (
        "version of a record",
        "SELECT seq FROM input LEFT JOIN record USING (seq) WHERE kind = 'record' AND version IS NULL",
    ),
    (
        "version of a record",
        "SELECT max(seq) FROM record GROUP BY vessel HAVING max(version) != count(*) OR min(version) != 1",
    ),
)
LIMITS = (
    "Records, visits and words at the gate are in no chain of hashes: a record that was changed, or a word that was"
    " changed in both its places, is not found here. Reports printed at the time and backups show it."
)
MOST_LINES = 20


def look_at_copies(db: sqlite3.Connection) -> Said:
    """Hold each copy against what it is a copy of."""
    found = [f"{what}, input {seq}" for what, query in _FAULTS for (seq,) in db.execute(query)]
    words = "Records, visits and words at the gate stand as they came in."
    if found:
        words = f"{len(found)} records, visits or words at the gate are not as they came in: they were changed or taken"
        words += " out afterwards. Restore a backup."
    more = (*found[:MOST_LINES], LIMITS)
    return Said("said", ok=not found, words=words, figures={"changed": len(found)}, more=more)

"""Whether every watch could be started from its snapshot."""

import json
from dataclasses import dataclass
from sqlite3 import Connection

from monitor import quality
from monitor.model.vessel import Vessel
from monitor.snapshot import FORM, SnapshotError, read_snapshot
from monitor.watch import Watch

_RECORDS = "SELECT seq, from_ms, document FROM record WHERE vessel = ? AND seq <= ? ORDER BY seq"


@dataclass(frozen=True, slots=True)
class SnapshotsRead:
    """What came of reading the snapshots.

    Attributes:
        read: how many could be read.
        unreadable: a line for each that could not.
        other_form: how many another version of the program made: no fault, and of no use to this one.
        other_rules: rules of another version than this program's, each to be folded again at the next start.
        oldest_seq: the seq of the oldest, from which on a start folds; None where there is none.
    """

    read: int
    unreadable: tuple[str, ...]
    other_form: int
    other_rules: tuple[str, ...]
    oldest_seq: int | None


def read_snapshots(db: Connection) -> SnapshotsRead:
    """Read every snapshot as a start would."""
    read, unreadable, other_form, other_rules, seqs = 0, [], 0, set(), []
    for vessel, seq, body in db.execute("SELECT vessel, seq, body FROM snapshot ORDER BY vessel"):
        versions = db.execute(_RECORDS, (vessel, seq)).fetchall()
        if not versions:
            unreadable.append(f"{vessel}: no record that is as old as the snapshot")
            continue
        watch = Watch(Vessel.model_validate_json(versions[-1][2]), versions[0][1])
        try:
            other_rules |= {rule.name for rule in read_snapshot(watch, body)}
        except SnapshotError as error:
            if _is_of_another_form(body):
                other_form += 1
            else:
                unreadable.append(f"{vessel}: {error}")
            continue
        seqs.append(seq)
        read += 1
    return SnapshotsRead(read, tuple(unreadable), other_form, tuple(sorted(other_rules)), min(seqs, default=None))


def _is_of_another_form(body: str) -> bool:
    try:
        document = json.loads(body)
        return (document["form"], document["quality"]) != (FORM, quality.VERSION)
    except (ValueError, KeyError, TypeError):
        return False

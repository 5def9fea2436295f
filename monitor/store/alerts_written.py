"""Writes alerts, the chain of their events, and what rules cannot say."""

from sqlite3 import Connection

from monitor.model.batch import Batch
from monitor.store.rows import (
    ALERT_CHANGES,
    ALERT_COLUMNS,
    EVENT_COLUMNS,
    alert_row,
    chained,
    event_row,
    findings_json,
)

_PUT_ALERT = (
    f"INSERT INTO alert ({ALERT_COLUMNS}, seq) VALUES ({', '.join('?' * (ALERT_COLUMNS.count(',') + 2))})"
    f" ON CONFLICT (id) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in (*ALERT_CHANGES, 'seq'))}"
)


def write_alerts(db: Connection, batch: Batch, last_hash: str) -> str:
    """Write the alerts and events of a batch, in its transaction.

    Args:
        db: the journal.
        batch: the batch.
        last_hash: the hash of the last event before it.

    Returns:
        The hash of its last event.
    """
    db.executemany(_PUT_ALERT, [alert_row(alert, batch.last_seq) for alert in batch.alerts.values()])
    for seq, place, event in batch.events:
        last_hash = chained(last_hash, seq, place, event)
        db.execute(
            f"INSERT INTO alert_event (seq, place, {EVENT_COLUMNS}, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*event_row(seq, place, event), last_hash),
        )
    return last_hash


def read_last_hash(db: Connection) -> str:
    """Give the hash of the last event, empty before the first."""
    row = db.execute("SELECT hash FROM alert_event ORDER BY seq DESC, place DESC LIMIT 1").fetchone()
    return "" if row is None else str(row[0])


def write_not_known(db: Connection, batch: Batch) -> None:
    """Write what rules cannot say of the vessels where it changed."""
    db.executemany(
        "INSERT INTO not_known (vessel, seq, findings) VALUES (?, ?, ?)"
        " ON CONFLICT (vessel) DO UPDATE SET seq = excluded.seq, findings = excluded.findings",
        [(v, batch.last_seq, findings_json.dump_json(f).decode()) for v, f in batch.not_known.items()],
    )

"""Writes what people are to be told, and what came of it."""

from collections.abc import Sequence
from sqlite3 import Connection

from monitor.model.batch import Batch
from monitor.model.notice import Delivery, Notice
from monitor.store.call_rows import CALL_COLUMNS, NOTICE_COLUMNS, call_row, notice_row

_CALL_CHANGES = ("priority", "alerts", "vessels", "ended_ms", "accepted_ms", "accepted_by", "rung", "seq")
_PUT_CALL = (
    f"INSERT INTO call ({CALL_COLUMNS}, seq) VALUES ({', '.join('?' * (CALL_COLUMNS.count(',') + 2))})"
    f" ON CONFLICT (id) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in _CALL_CHANGES)}"
)
_PUT_NOTICE = (
    f"INSERT OR IGNORE INTO notice ({NOTICE_COLUMNS}, seq) VALUES ({', '.join('?' * (NOTICE_COLUMNS.count(',') + 2))})"
)


def write_telling(db: Connection, batch: Batch) -> None:
    """Write the calls and notices of a batch, and where whoever plans them stands, in its transaction.

    A notice that was planned before stays as it is, with what came of it.
    """
    db.executemany(_PUT_CALL, [(*call_row(call), batch.last_seq) for call in batch.calls.values()])
    db.executemany(_PUT_NOTICE, [(*notice_row(notice), batch.last_seq) for notice in batch.notices])
    if batch.telling is not None:
        db.execute(
            "INSERT INTO telling (id, seq, body) VALUES (1, ?, ?)"
            " ON CONFLICT (id) DO UPDATE SET seq = excluded.seq, body = excluded.body",
            (batch.last_seq, batch.telling),
        )


def write_notices(db: Connection, notices: Sequence[Notice]) -> None:
    """Write notices that no batch brought about, behind those that wait; the transaction is begun."""
    (seq,) = db.execute("SELECT coalesce(max(seq), 0) FROM notice").fetchone()
    db.executemany(_PUT_NOTICE, [(*notice_row(notice), seq) for notice in notices])


def note_delivery(db: Connection, delivery: Delivery) -> None:
    """Write what came of trying to send a notice, and that its address is gone for good; the transaction is begun.

    What is put off puts off those that wait behind it.
    """
    db.execute(
        "UPDATE notice SET tries = tries + 1, error = :error, next_ms = coalesce(:next, next_ms),"
        " sent_ms = CASE WHEN :sent THEN :at ELSE sent_ms END,"
        " given_up_ms = CASE WHEN NOT :sent AND :next IS NULL THEN :at ELSE given_up_ms END WHERE id = :id",
        {
            "id": delivery.notice,
            "sent": delivery.sent,
            "at": delivery.at_ms,
            "next": delivery.next_ms,
            "error": delivery.error,
        },
    )
    if delivery.next_ms is not None:
        db.execute(
            "UPDATE notice SET next_ms = max(next_ms, :next)"
            " FROM (SELECT channel, call, address FROM notice WHERE id = :id) AS late"
            " WHERE notice.channel = late.channel AND notice.call = late.call AND notice.address = late.address"
            " AND sent_ms IS NULL AND given_up_ms IS NULL",
            {"id": delivery.notice, "next": delivery.next_ms},
        )
    if delivery.disabled:
        db.execute(
            "INSERT OR IGNORE INTO disabled_address (channel, address, at_ms, why)"
            " SELECT channel, address, ?, ? FROM notice WHERE id = ?",
            (delivery.at_ms, delivery.error, delivery.notice),
        )


def note_another_try(db: Connection, notice: str) -> None:
    """Have a notice tried again that was given up, and its address used again; the transaction is begun.

    One that was not given up stays as it is.
    """
    given_up = db.execute(
        "UPDATE notice SET given_up_ms = NULL, next_ms = 0 WHERE id = ? AND given_up_ms IS NOT NULL"
        " RETURNING channel, address",
        (notice,),
    ).fetchone()
    if given_up is not None:
        db.execute("DELETE FROM disabled_address WHERE channel = ? AND address = ?", given_up)

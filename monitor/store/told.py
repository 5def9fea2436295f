"""What people were told and what came of it, and what visits found, as readers see it."""

from collections import Counter

from pydantic import TypeAdapter

from monitor.model.alert import Alert, AlertChange
from monitor.model.call import Call
from monitor.model.inputs import VisitReport
from monitor.model.scale import Priority
from monitor.model.views import STANDING_DAYS, AlertLoad, NoticeLine
from monitor.store.call_rows import CALL_COLUMNS, NOTICE_COLUMNS, call_from_row, notice_from_row
from monitor.store.reader import Reader, Row
from monitor.store.rows import ALERT_COLUMNS, alert_from_row

DAY_MS = 86_400_000
CHATTERS_FROM = 3
"""An alert that came so often within a day wears people out (ISA-18.2 counts repeats in a span; the figure is ours)."""
GIVEN_UP_SHOWN_DAYS = 30
"""So long it is shown that a message was given up: what nobody mended by then stands in the call itself."""

_LINE = f"{NOTICE_COLUMNS}, sent_ms, given_up_ms, tries, next_ms, error"
KnownCalls = dict[str, tuple[Row, Call]]
_visit = TypeAdapter(VisitReport)


def read_calls(reader: Reader, known: KnownCalls, *, open_only: bool, limit: int) -> list[Call]:
    """Give calls, newest first.

    Args:
        reader: of the journal.
        known: open calls as they were read last, by id: one whose row has not changed is the same again. Kept up.
        open_only: only those that are not over.
        limit: how many at most.
    """
    where = "WHERE ended_ms IS NULL " if open_only else ""
    rows = reader.rows(f"SELECT {CALL_COLUMNS} FROM call {where}ORDER BY opened_ms DESC, id LIMIT ?", (limit,))
    # An event of the fleet names thousands of boats. The seq does not tell: the wall's time changes calls too.
    found = []
    for row in rows:
        before = known.get(row[0])
        found.append(before if before is not None and before[0] == row else (row, call_from_row(row)))
    if open_only:
        known.clear()
        known.update((call.id, (row, call)) for row, call in found)
    return [call for _, call in found]


def read_call(reader: Reader, call: str) -> Call | None:
    """Give a call by its id."""
    row = reader.row(f"SELECT {CALL_COLUMNS} FROM call WHERE id = ?", (call,))
    return None if row is None else call_from_row(row)


def read_notice(reader: Reader, notice: str) -> NoticeLine | None:
    """Give a notice by its id."""
    row = reader.row(f"SELECT {_LINE} FROM notice WHERE id = ?", (notice,))
    return None if row is None else _line(row)


def read_notices(reader: Reader, call: str) -> list[NoticeLine]:
    """Give the notices of a call, oldest first."""
    return notice_lines(reader, "WHERE call = ? ORDER BY seq, rowid", (call,))


def notice_lines(reader: Reader, where: str, arguments: tuple[object, ...]) -> list[NoticeLine]:
    """Give the notices that a condition of SQL picks, with what has come of each."""
    return [_line(row) for row in reader.rows(f"SELECT {_LINE} FROM notice {where}", arguments)]


def read_undelivered(reader: Reader, now_ms: int, limit: int) -> list[NoticeLine]:
    """Give what was given up lately, and what has failed and still waits, newest first.

    What was not tried has not failed.

    Args:
        reader: of the journal.
        now_ms: wall time.
        limit: how many at most.
    """
    rows = reader.rows(
        f"SELECT {_LINE}, seq, rowid AS row FROM notice INDEXED BY notice_given_up WHERE given_up_ms > ?"
        f" UNION ALL SELECT {_LINE}, seq, rowid FROM notice INDEXED BY notice_waiting"
        " WHERE sent_ms IS NULL AND given_up_ms IS NULL AND tries > 0 ORDER BY seq DESC, row DESC LIMIT ?",
        (now_ms - GIVEN_UP_SHOWN_DAYS * DAY_MS, limit),
    )
    return [_line(row[:-2]) for row in rows]


def is_link_used(reader: Reader, notice: str) -> bool:
    """Say whether the link in a notice has been used."""
    row = reader.row("SELECT link_used_ms IS NOT NULL FROM notice WHERE id = ?", (notice,))
    return row is not None and bool(row[0])


def read_load(reader: Reader, from_ms: int, to_ms: int) -> AlertLoad:
    """Measure the alerts of a span of event time."""
    if to_ms <= from_ms:
        raise ValueError(f"a span ends after it begins: {from_ms} to {to_ms} ms UTC")
    opened = reader.rows(
        "SELECT priority, count(*) FROM alert_event WHERE change = ? AND at_ms >= ? AND at_ms < ? GROUP BY priority",
        (AlertChange.OPENED.value, from_ms, to_ms),
    )
    standing = reader.rows(
        f"SELECT {ALERT_COLUMNS} FROM alert WHERE opened_ms < ? AND coalesce(ended_ms, ?) >= ? ORDER BY opened_ms, id",
        (to_ms - round(STANDING_DAYS * DAY_MS), to_ms, to_ms),
    )
    return AlertLoad(
        days=(to_ms - from_ms) / DAY_MS,
        opened={Priority[word.upper()]: n for word, n in opened},
        standing=tuple(alert_from_row(row) for row in standing),
        chattering=tuple(_chattering(reader, from_ms, to_ms)),
    )


def read_visits(reader: Reader, vessel: str | None, limit: int) -> list[VisitReport]:
    """Give visits, newest first: of a vessel, or of all."""
    where, arguments = ("", ()) if vessel is None else ("WHERE vessel = ? ", (vessel,))
    rows = reader.rows(f"SELECT body FROM visit {where}ORDER BY at_ms DESC, seq DESC LIMIT ?", (*arguments, limit))
    return [_visit.validate_json(body) for (body,) in rows]


def _chattering(reader: Reader, from_ms: int, to_ms: int) -> list[tuple[Alert, int]]:
    """Give what came `CHATTERS_FROM` times or more within a day, by its latest alert, with how often at the worst.

    One that was seen before it cleared comes back as another alert: what counts is what it is about.
    """
    rows = reader.rows(
        "SELECT alert, at_ms, alert.vessel, rule, subject FROM alert_event JOIN alert ON id = alert"
        " WHERE change IN (?, ?) AND at_ms >= ? AND at_ms < ? ORDER BY at_ms, alert_event.seq, place",
        (AlertChange.OPENED.value, AlertChange.REOPENED.value, from_ms, to_ms),
    )
    times: dict[tuple[str, ...], list[int]] = {}
    latest: dict[tuple[str, ...], str] = {}
    for alert, at_ms, vessel, rule, subject in rows:
        times.setdefault((vessel, rule, subject), []).append(at_ms)
        latest[vessel, rule, subject] = alert
    worst: Counter[str] = Counter()
    for about, at in times.items():
        alert, first = latest[about], 0
        for last, at_ms in enumerate(at):
            while at_ms - at[first] >= DAY_MS:
                first += 1
            worst[alert] = max(worst[alert], last - first + 1)
    found = []
    for key, count in worst.most_common():
        if count < CHATTERS_FROM:
            break
        row = reader.row(f"SELECT {ALERT_COLUMNS} FROM alert WHERE id = ?", (key,))
        if row is not None:
            found.append((alert_from_row(row), count))
    return found


def _line(row: Row) -> NoticeLine:
    *columns, sent, given_up, tries, next_ms, error = row
    return NoticeLine(notice_from_row(columns), sent, given_up, tries, next_ms, error)

"""Whether what happened to alerts stands as it was written, and what such a look cannot find."""

import sqlite3
from collections.abc import Callable

from monitor.store.chain import read_chain
from monitor.store.checked import Figure, Said

_CUT = (
    "SELECT alert.id FROM alert LEFT JOIN alert_event AS last ON last.alert = alert.id AND NOT EXISTS"
    " (SELECT 1 FROM alert_event AS later WHERE later.alert = alert.id"
    " AND (later.seq, later.place) > (last.seq, last.place))"
    " WHERE last.alert IS NULL OR last.state != alert.state OR last.priority != alert.priority"
    " ORDER BY alert.opened_ms, alert.id"
)
"""Alerts that do not stand as their last event left them: events were cut off the end, or the alert was changed."""

LIMITS = (
    "A chain shows a change within it, and not that its end was cut off, nor that all of it was written anew: keep its"
    " last hash elsewhere, as each report does, and look with --has."
)
MOST_NAMED = 5


def look_at_events(db: sqlite3.Connection, spell: Callable[[int], str], has: str = "") -> Said:
    """Follow the chain of what happened to alerts.

    Args:
        db: the journal.
        spell: writes a time (ms UTC) for people.
        has: a hash that somebody kept elsewhere; empty where none was.
    """
    chain = read_chain(db, has)
    figures: dict[str, Figure] = {"events": chain.events, "last_hash": chain.last, "kept_hash_at": chain.has_at}
    if chain.broken_at is not None:
        alert, at_ms = chain.broken_at
        words = (
            f"What happened to alerts was changed afterwards: after {chain.events} events the chain breaks, at alert "
            f"{alert}, {spell(at_ms)}. What stands before it is as it was written; restore a backup to read the rest."
        )
        return Said("events", ok=False, words=words, figures=figures)
    if has and chain.has_at is None:
        words = (
            f"The chain of {chain.events} events does not hold the hash {has}: its end was cut off, or it was written"
            " anew. Restore a backup that holds it."
        )
        return Said("events", ok=False, words=words, figures=figures)
    cut = [row[0] for row in db.execute(_CUT)]
    figures["cut"] = len(cut)
    if cut:
        named = ", ".join(cut[:MOST_NAMED]) + (" ..." if len(cut) > MOST_NAMED else "")
        words = f"{len(cut)} alerts do not stand as their last event left them ({named}): events were cut off, or the"
        return Said("events", ok=False, words=f"{words} alerts changed. Restore a backup.", figures=figures)
    words = f"{chain.events} events of alerts stand as they were written; the last hash is {chain.last or 'none'}."
    words += f" The hash you kept is that of event {chain.has_at}." if chain.has_at is not None else ""
    return Said("events", ok=True, words=words, figures=figures, more=(LIMITS,))

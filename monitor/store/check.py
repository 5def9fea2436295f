"""Looks a whole journal through, while the agent goes on writing: a sentence a matter, right or wrong.

It reads one view of the journal. What it says of holes and of messages that were given up is no fault of the journal:
it is said, and is not wrong.
"""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

from monitor.model.vessel import Vessel
from monitor.store.check_copies import look_at_copies
from monitor.store.check_events import look_at_events
from monitor.store.check_history import look_at_history
from monitor.store.checked import Figure, Said
from monitor.store.dropped import read_dropped
from monitor.store.holes import HOLE_CADENCES, find_holes
from monitor.store.hours import HOUR_MS
from monitor.store.migrate import known_form
from monitor.store.outbox_age import given_up, queues
from monitor.store.photos import photo_sizes, photos_changed, photos_missing
from monitor.store.recount import recount
from monitor.store.room import read_room
from monitor.store.snapshots_read import read_snapshots
from monitor.store.sound import contents_of, faults, opened_to_read

SAMPLED_HOURS = 5_000
OUTBOX_OLD_MS = HOUR_MS
"""A message is tried again within minutes: one that has waited an hour is stuck."""

MOST_LINES = 20
GATE_FROM_FORM = 4
PHOTOS_FROM_FORM = 5


def check(
    path: Path,
    now_ms: int,
    *,
    every_hour: bool,
    spell: Callable[[int], str],
    has: str = "",
    history: bool = False,
) -> list[Said]:
    """Look a journal through.

    Args:
        path: the journal.
        now_ms: event time: for how long messages have waited, and sensors said nothing.
        every_hour: whether every roll-up is counted again, rather than a sample.
        spell: writes a time (ms UTC) for people.
        has: a hash of the chain of events that was kept elsewhere; empty where none was.
        history: whether the settings name a history server.

    Raises:
        NotAJournalError: where it cannot be read at all.
    """
    with opened_to_read(path) as db:
        contents = contents_of(db, path)
        said = [_whole(db), _form(contents.form)]
        if not said[0].ok:
            return said  # anything else would be read from broken pages
        said += [_links(db), _inputs(db), look_at_events(db, spell, has)]
        if contents.form >= GATE_FROM_FORM:
            said.append(look_at_copies(db))
        said += [_hours(db, every_hour=every_hour, spell=spell), _snapshots(db)]
        if contents.form >= PHOTOS_FROM_FORM:
            said.append(_photos(db))
        sent = look_at_history(db, now_ms, spell, wanted=history)
        said += [
            _outbox(db, now_ms, spell),
            *([sent] if sent is not None else []),
            _holes(db, now_ms, spell),
            _room(db, path, spell),
        ]
    return said


def _whole(db: sqlite3.Connection) -> Said:
    broken = faults(db)
    if broken:
        words = "The file is broken: stop the agent, restore the last backup, and look at the disk."
        return Said("integrity", ok=False, words=words, figures={"faults": len(broken)}, more=tuple(broken))
    return Said("integrity", ok=True, words="Every page of the file is as it should be.", figures={"faults": 0})


def _form(form: int) -> Said:
    figures = {"form": form, "known": known_form()}
    if form < known_form():
        words = f"It is of form {form}; the next start brings it to {known_form()}."
        return Said("form", ok=True, words=words, figures=figures)
    return Said("form", ok=True, words=f"It is of form {form}, this program's own.", figures=figures)


def _links(db: sqlite3.Connection) -> Said:
    loose = [f"{table} row {row}: names a {parent} that is not there" for table, row, parent, _ in _loose(db)]
    if loose:
        words = f"{len(loose)} rows name something that is not there: restore the last backup that is whole."
        return Said("links", ok=False, words=words, figures={"loose": len(loose)}, more=tuple(loose[:MOST_LINES]))
    return Said("links", ok=True, words="Every row that names another finds it.", figures={"loose": 0})


def _loose(db: sqlite3.Connection) -> Iterator[tuple[str, int | None, str, int]]:
    yield from db.execute("PRAGMA foreign_key_check")


def _inputs(db: sqlite3.Connection) -> Said:
    """Count the inputs: their seq rises by one, so that a row that has gone shows."""
    dropped = read_dropped(db)
    (readings, last_reading) = db.execute("SELECT count(*), coalesce(max(seq), 0) FROM reading").fetchone()
    (others, last_other) = db.execute("SELECT count(*), coalesce(max(seq), 0) FROM input").fetchone()
    last_seq = max(last_reading, last_other)
    missing = last_seq - readings - others - dropped.readings
    figures = {
        "last_seq": last_seq,
        "readings": readings,
        "other_inputs": others,
        "dropped_readings": dropped.readings,
        "missing": missing,
    }
    summed = f", {dropped.readings} readings that are kept as hours only" if dropped.readings else ""
    if missing:
        words = f"{missing} of {last_seq} inputs are not there: restore the last backup, and look at the disk."
        return Said("inputs", ok=False, words=words, figures=figures)
    words = f"All inputs from 1 to {last_seq} are there: {readings} readings, {others} others{summed}."
    return Said("inputs", ok=True, words=words, figures=figures)


def _hours(db: sqlite3.Connection, *, every_hour: bool, spell: Callable[[int], str]) -> Said:
    found = recount(db, None if every_hour else SAMPLED_HOURS)
    figures = {"hours": found.hours, "looked_at": found.looked_at, "wrong": found.wrong}
    if found.first_wrong is not None:
        vessel, sensor, hour_ms = found.first_wrong
        first = f"{vessel} {sensor}, the hour of {spell(hour_ms)}"
        words = f"{found.wrong} of {found.looked_at} hours do not agree with their readings, first {first}: charts of "
        words += "long spans are wrong there. This is a fault of the program: report it."
        return Said("hours", ok=False, words=words, figures=figures)
    words = f"{found.looked_at} of {found.hours} hours were counted again and agree with their readings."
    return Said("hours", ok=True, words=words, figures=figures)


def _snapshots(db: sqlite3.Connection) -> Said:
    found = read_snapshots(db)
    figures = {
        "read": found.read,
        "unreadable": len(found.unreadable),
        "other_form": found.other_form,
        "oldest_seq": found.oldest_seq,
    }
    if found.unreadable:
        words = f"{len(found.unreadable)} watches cannot be started from their snapshots: the next start folds them "
        words += "again from the lay-up on, which takes seconds a boat."
        return Said("snapshots", ok=False, words=words, figures=figures, more=found.unreadable[:MOST_LINES])
    again = f" Folded again at the next start: {', '.join(found.other_rules)}." if found.other_rules else ""
    if found.other_form:
        again += f" {found.other_form} are of another version of the program: those boats are folded again as well."
    return Said("snapshots", ok=True, words=f"{found.read} snapshots can be read.{again}", figures=figures)


def _photos(db: sqlite3.Connection) -> Said:
    """Hold each photo against its id, which is the hash of its bytes, and the records against the photos."""
    count, size = photo_sizes(db)
    lines = [*photos_changed(db), *photos_missing(db)]
    figures = {"photos": count, "bytes": size, "wrong": len(lines)}
    if lines:
        words = f"{len(lines)} photos of lay-up records are not as they were: restore the last backup that has them."
        return Said("photos", ok=False, words=words, figures=figures, more=tuple(lines[:MOST_LINES]))
    words = f"{count} photos of lay-up records stand as they were handed in, {size / 1e6:.1f} MB."
    return Said("photos", ok=True, words=words, figures=figures)


def _outbox(db: sqlite3.Connection, now_ms: int, spell: Callable[[int], str]) -> Said:
    waiting, lost = queues(db), given_up(db)
    figures: dict[str, Figure] = {"waiting": sum(q.count for q in waiting), "given_up": lost}
    lines = []
    for queue in waiting:
        figures[f"oldest_{queue.channel}_s"] = max(now_ms - queue.oldest_ms, 0) // 1000
        error = f"; {queue.error}" if queue.error else ""
        lines.append(f"{queue.channel}: {queue.count} wait, the oldest since {spell(queue.oldest_ms)}{error}")
    up = f" {lost} were given up; the page of undelivered messages names them." if lost else ""
    if any(now_ms - queue.oldest_ms > OUTBOX_OLD_MS for queue in waiting):
        words = f"Messages have waited for more than an hour: look at that channel and its settings.{up}"
        return Said("outbox", ok=False, words=words, figures=figures, more=tuple(lines))
    words = f"{'Nothing waits' if not waiting else 'What waits is fresh'} in the outbox.{up}"
    return Said("outbox", ok=True, words=words, figures=figures, more=tuple(lines))


def _holes(db: sqlite3.Connection, now_ms: int, spell: Callable[[int], str]) -> Said:
    vessels = {
        vessel: Vessel.model_validate_json(document)
        for vessel, document in db.execute("SELECT vessel, document FROM record ORDER BY seq")
    }
    every = list(find_holes(db, vessels, now_ms))
    holed = sorted((found for found in every if found.count), key=lambda found: -found.longest_ms)
    lines = [
        f"{found.vessel} {found.sensor}: {found.count}, the longest {_span(found.longest_ms)} from"
        f" {spell(found.longest_from_ms)}; it usually says something every {_span(found.cadence_ms)}"
        for found in holed
    ]
    longest_ms = holed[0].longest_ms if holed else 0
    figures = {
        "sensors": len(every),
        "sensors_with_holes": len(holed),
        "holes": sum(found.count for found in holed),
        "longest_s": longest_ms // 1000,
    }
    if not holed:
        return Said(
            "holes", ok=True, words=f"None of {len(every)} sensors has a hole since the lay-up.", figures=figures
        )
    words = f"{len(holed)} of {len(every)} sensors have holes of more than {HOLE_CADENCES} times their usual cadence."
    more = lines[:MOST_LINES] + ([f"and {len(lines) - MOST_LINES} more sensors"] if len(lines) > MOST_LINES else [])
    return Said("holes", ok=True, words=words, figures=figures, more=tuple(more))


def _room(db: sqlite3.Connection, path: Path, spell: Callable[[int], str]) -> Said:
    room, dropped = read_room(db), read_dropped(db)
    size = room.pages * room.page_bytes
    figures = {"bytes": size, "free_bytes": room.free * room.page_bytes, "dropped_to_ms": dropped.to_ms}
    words = f"{path.name} has {size / 1e6:.1f} MB, {room.free * room.page_bytes / 1e6:.1f} MB of them free."
    if dropped.readings:
        words += f" Raw readings are kept from {spell(dropped.to_ms)} on, hours of all before."
    if not room.can_shrink:
        words += (
            " It was made before it could shrink: stop the agent once and run check --compact, if ever it is too large."
        )
    return Said("room", ok=True, words=words, figures=figures)


def _span(milliseconds: int) -> str:
    seconds = milliseconds // 1000
    for unit, length in (("d", 86_400), ("h", 3_600), ("min", 60)):
        if seconds >= 2 * length:
            return f"{seconds / length:.0f} {unit}"
    return f"{seconds} s"

"""What one version of a record changed against the one before, in words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.web.clock import YardClock
from monitor.web.form_fields import fields_of, part_words
from monitor.web.form_parts import PARTS, Entry, Part, entries
from monitor.web.record_form_words import title_of, words_of

_EMPTY = "empty"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: of which part, of which entry, what it was and what it is; both empty where it came or went."""

    part: str
    entry: str
    what: str
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class VersionShown:
    """A version, and what it changed; None where it is the first."""

    stored: StoredRecord
    changes: tuple[Change, ...] | None


def versions_shown(versions: Sequence[StoredRecord], clock: YardClock) -> list[VersionShown]:
    """Give versions, newest first, each with what it changed."""
    before = [*versions[1:], None]
    return [
        VersionShown(new, None if old is None else tuple(changes(old.vessel, new.vessel, clock)))
        for new, old in zip(versions, before, strict=True)
    ]


def changes(old: Vessel, new: Vessel, clock: YardClock) -> Iterator[Change]:
    """Give every difference between two versions."""
    if old.mode is not new.mode:
        yield Change("Her and her place", "", "Mode", old.mode.value, new.mode.value)
    for part in PARTS.values():
        yield from _of_part(old, new, part, clock)
    yield from _counted(
        "Work list", "jobs", {j.id: (j, j.what) for j in old.jobs}, {j.id: (j, j.what) for j in new.jobs}
    )
    yield from _counted("Sensors proved by hand", "proofs", _proofs(old), _proofs(new))
    if old.commissioned != new.commissioned:
        by = "taken off" if new.commissioned is None else f"taken on by {new.commissioned.by}"
        yield Change("Commissioned", "", f"The watch was {by}")


def _of_part(old: Vessel, new: Vessel, part: Part, clock: YardClock) -> Iterator[Change]:
    title = part_words(part)["title"]
    before, after = dict(entries(old, part)), dict(entries(new, part))
    for key, entry in after.items():
        name = title_of(part, entry, clock) if part.many else ""
        if key not in before:
            yield Change(title, name, "added")
        elif entry != before[key]:
            yield from _of_entry((old, before[key]), (new, entry), part, (title, name), clock)
    for key, entry in before.items():
        if key not in after:
            yield Change(title, title_of(part, entry, clock) if part.many else "", "taken out")


def _of_entry(
    old: tuple[Vessel, Entry], new: tuple[Vessel, Entry], part: Part, named: tuple[str, str], clock: YardClock
) -> Iterator[Change]:
    for one in fields_of(part):
        values = getattr(old[1], one.name), getattr(new[1], one.name)
        if values[0] != values[1]:
            before, after = words_of(old[0], one, values[0], clock), words_of(new[0], one, values[1], clock)
            yield Change(*named, one.label, before or _EMPTY, after or _EMPTY)


def _proofs(record: Vessel) -> dict[str, tuple[object, str]]:
    return {f"{proof.sensor} {proof.at}": (proof, f"{proof.sensor} {proof.way}") for proof in record.proofs}


def _counted(
    title: str, what: str, before: dict[str, tuple[object, str]], after: dict[str, tuple[object, str]]
) -> Iterator[Change]:
    for key, (held, words) in after.items():
        if key not in before:
            yield Change(title, words, "added")
        elif before[key][0] != held:
            yield Change(title, words, "changed")
    gone = [words for key, (_, words) in before.items() if key not in after]
    if gone:
        yield Change(title, "", f"{len(gone)} {what} taken out")

"""How the inputs of the fold that are no readings stand in the journal's rows, and back."""

from collections.abc import Iterator
from dataclasses import dataclass
from sqlite3 import Connection
from typing import Any, get_args

from pydantic import TypeAdapter

from monitor.model.gate import GateWord
from monitor.model.inputs import (
    Accept,
    Acknowledge,
    AlertCommand,
    BringBack,
    CalendarVersion,
    Clock,
    Command,
    Confirm,
    Deaf,
    EndSuppression,
    ForecastVersion,
    HandOver,
    RecordVersion,
    Shelve,
    Suppress,
    TakeOut,
    VesselCommand,
    VisitReport,
    YardInput,
)
from monitor.model.vessel import Vessel
from monitor.store.gate_written import write_gate

SAME_VISIT_MS = 10 * 60_000

Other = Command | YardInput
"""An input that is no reading."""

_KINDS: dict[str, type[AlertCommand | VesselCommand | YardInput]] = {
    "clock": Clock,
    "acknowledge": Acknowledge,
    "confirm": Confirm,
    "hand over": HandOver,
    "accept": Accept,
    "shelve": Shelve,
    "take out": TakeOut,
    "bring back": BringBack,
    "suppress": Suppress,
    "end suppression": EndSuppression,
    "visit": VisitReport,
    "gate": GateWord,
    "deaf": Deaf,
    "calendar": CalendarVersion,
    "forecast": ForecastVersion,
}
_bodies: dict[str, TypeAdapter[Any]] = {kind: TypeAdapter(made) for kind, made in _KINDS.items()}
_kind_of = {made: kind for kind, made in _KINDS.items()}


@dataclass(frozen=True, slots=True)
class InputRow:
    """An input as its row: kind, vessel (None for the yard), event time and JSON."""

    kind: str
    vessel: str | None
    at_ms: int
    body: str


def kinds_missing() -> set[type]:
    """Give the inputs that have no kind; a record has a table of its own."""
    every = {*get_args(Command), *get_args(YardInput)}
    return every - set(_kind_of) - {RecordVersion}


def input_row(item: AlertCommand | VesselCommand | YardInput) -> InputRow:
    """Lay an input out as its row."""
    kind = _kind_of[type(item)]
    vessel = item.vessel if isinstance(item, (AlertCommand, VesselCommand)) else None
    at_ms = item.to_ms if isinstance(item, Deaf) else item.at_ms
    return InputRow(kind, vessel, at_ms, _bodies[kind].dump_json(item).decode())


def input_from_row(kind: str, body: str) -> Other:
    """Make an input from its row's kind and JSON."""
    made: Other = _bodies[kind].validate_json(body)
    return made


def write_inputs(db: Connection, inputs: list[tuple[int, Other]]) -> None:
    """Write inputs with their seq: versions of records and visits into tables of their own beside.

    A link by which an alert was acknowledged or taken on is noted as used in the same transaction.
    """
    for seq, item in inputs:
        if isinstance(item, RecordVersion):
            row = InputRow("record", item.vessel.id, item.at_ms, "")
            db.execute(
                "INSERT INTO record (vessel, version, from_ms, seq, actor, document) VALUES"
                " (?1, (SELECT coalesce(max(version), 0) + 1 FROM record WHERE vessel = ?1), ?2, ?3, ?4, ?5)",
                (item.vessel.id, item.at_ms, seq, item.actor, item.vessel.model_dump_json()),
            )
        else:
            row = input_row(item)
        db.execute(
            "INSERT INTO input (seq, kind, vessel, at_ms, body) VALUES (?, ?, ?, ?, ?)",
            (seq, row.kind, row.vessel, row.at_ms, row.body),
        )
        if isinstance(item, VisitReport):
            _write_visit(db, seq, item)
        elif isinstance(item, Confirm) and not _stands_in_a_visit(db, item):
            _write_visit(db, seq, item.as_visit())
        elif isinstance(item, GateWord):
            write_gate(db, seq, item, row.body)
        if isinstance(item, (Acknowledge, Accept)) and item.link:
            db.execute(
                "UPDATE notice SET link_used_ms = coalesce(link_used_ms, ?) WHERE id = ?", (item.at_ms, item.link)
            )


def _write_visit(db: Connection, seq: int, visit: VisitReport) -> None:
    db.execute(
        "INSERT INTO visit (seq, vessel, at_ms, actor, body) VALUES (?, ?, ?, ?, ?)",
        (seq, visit.vessel, visit.at_ms, visit.actor, input_row(visit).body),
    )


def _stands_in_a_visit(db: Connection, confirm: Confirm) -> bool:
    """Say whether an alert was confirmed by the form of a visit, which came just before and names it."""
    found = db.execute(
        "SELECT 1 FROM visit, json_each(visit.body, '$.visit.confirmed') AS named"
        " WHERE vessel = ? AND actor = ? AND at_ms BETWEEN ? AND ? AND named.value = ?",
        (confirm.vessel, confirm.actor, confirm.at_ms - SAME_VISIT_MS, confirm.at_ms + SAME_VISIT_MS, confirm.alert),
    )
    return found.fetchone() is not None


def read_others(db: Connection, after_seq: int) -> Iterator[tuple[int, Other]]:
    """Give the inputs after a seq that are no readings, in order."""
    query = (
        "SELECT input.seq, kind, at_ms, body, document, actor FROM input LEFT JOIN record USING (seq)"
        " WHERE input.seq > ? ORDER BY input.seq"
    )
    for seq, kind, at_ms, body, document, actor in db.execute(query, (after_seq,)):
        if kind == "record":
            yield seq, RecordVersion(Vessel.model_validate_json(document), at_ms, actor)
        else:
            yield seq, input_from_row(kind, body)

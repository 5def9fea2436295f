"""What was left open, off, out or wet, and how each was closed: by the record, and by what people said at the gate."""

from collections.abc import Callable

from monitor.model.gate import HULL
from monitor.model.vessel import Vessel
from monitor.record.gate import Gate
from monitor.record.gate_item import GateItem, Stage
from monitor.record.gate_says import heading, standing, state_word
from monitor.report.winter import Winter

Row = list[str]
_OF_RECORD = (HULL, "tag-", "system-")
_TAG = "tag-"


def still_open(gate: Gate) -> int:
    """Count what was left open by the record, and is not closed."""
    return sum(not item.is_closed for item in gate.items if _is_left(item))


def left_open(gate: Gate, winter: Winter, spell: Callable[[int], str]) -> list[Row]:
    """Give tag, what, when it is due, and how it stands, of all that any version of the record left open."""
    rows = []
    for item in gate.items:
        if _is_left(item):
            tag = item.id.removeprefix(HULL).removeprefix(_TAG) if _TAG in item.id else "\u2013"
            said = _said(item, winter, spell)
            rows.append([tag, f"{item.what}\n{item.why}", heading(gate, item.stage).lower(), said])
    return rows


def spring_list(gate: Gate, spell: Callable[[int], str]) -> list[Row]:
    """Give stage, what and how it stands of the rest of the spring list: what the winter or any spring put on it."""
    return [
        [heading(gate, item.stage), f"{item.what}\n{item.why}", _standing(item, spell)]
        for item in gate.items
        if not _is_left(item)
    ]


def _is_left(item: GateItem) -> bool:
    return item.id.startswith(_OF_RECORD) and item.stage is not Stage.FIRST_START


def _said(item: GateItem, winter: Winter, spell: Callable[[int], str]) -> str:
    closed = _closed(item, winter.stored.vessel) if item.is_hull else ""
    return "\n".join(part for part in (_standing(item, spell), closed) if part)


def _closed(item: GateItem, record: Vessel) -> str:
    """Say what the record has of an opening's closing, which is not two people's eyes."""
    found = next((i for i in record.open_items if item.id == f"{HULL}{_TAG}{i.tag}" and i.closed is not None), None)
    if found is None:
        return ""
    return f"Her record has it closed on {found.closed}, by {found.closed_by or 'nobody named'}."


def _standing(item: GateItem, spell: Callable[[int], str]) -> str:
    said = standing(item, spell)
    return f"{state_word(item)}. {said}." if said else f"{state_word(item)}."

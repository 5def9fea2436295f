"""What the gate's page shows of each item, and the code that opens it on a phone."""

from dataclasses import dataclass

import segno
from markupsafe import Markup

from monitor.messages.links import can_be_opened_elsewhere
from monitor.record.gate import Gate
from monitor.record.gate_item import GateItem, Stage
from monitor.record.gate_says import heading, standing, state_word
from monitor.web.clock import YardClock

QR_BORDER = 2
"""Modules of white round a code: the pages leave white beside it, four are the standard's."""


@dataclass(frozen=True, slots=True)
class ItemShown:
    """An item as the page shows it; ``code`` opens it on a phone, None where no phone reaches these pages."""

    item: GateItem
    word: str
    standing: str
    code: Markup | None


@dataclass(frozen=True, slots=True)
class StageShown:
    """A stage with its items; ``left`` counts those that stand open."""

    slug: str
    heading: str
    items: tuple[ItemShown, ...]
    left: int


def stages(gate: Gate, clock: YardClock, address: str) -> list[StageShown]:
    """Give the stages that have anything, in the order of the day."""
    shown = []
    for stage in Stage:
        items = tuple(item_shown(gate, item, clock, address) for item in gate.of(stage))
        if items:
            left = sum(one.item.stands_open for one in items)
            shown.append(StageShown(stage.code.replace(" ", "-"), heading(gate, stage), items, left))
    return shown


def item_shown(gate: Gate, item: GateItem, clock: YardClock, address: str) -> ItemShown:
    """Give an item as the page shows it."""
    return ItemShown(item, state_word(item), standing(item, clock.at), code_of(address, gate.record.id, item.id))


def code_of(address: str, vessel: str, item: str) -> Markup | None:
    """Give the QR code of an item's page as SVG, None where only this machine reaches the pages."""
    if not can_be_opened_elsewhere(address):
        return None
    made = segno.make(f"{address}/vessels/{vessel}/gate/{item}", error="m", micro=False)
    drawn = made.svg_inline(border=QR_BORDER, svgclass="qr", lineclass=None, omitsize=True, dark="#000", light="#fff")
    return Markup(drawn)  # noqa: S704 - segno's own drawing of modules; no text of ours stands in it

"""The launch gate: everything that must be put right before, while and after she floats, and whether she may be lifted.

Pure: the winter's record, alerts and readings, and what people said at the gate, give the list.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from monitor.model.alert import Alert
from monitor.model.gate import OF_AN_ITEM, SLINGS_DRY, GateAct, GateWord
from monitor.model.vessel import Vessel
from monitor.record.checks import is_afloat
from monitor.record.gate_dry import Dryness, Point, dryness, records_since, slings_from
from monitor.record.gate_item import GateItem, Said, Stage
from monitor.record.gate_openings import openings
from monitor.record.gate_people import may_be_one
from monitor.record.gate_recorded import recorded
from monitor.record.gate_season import Season
from monitor.record.gate_stood import Cold
from monitor.record.gate_winter import winters


@dataclass(frozen=True, slots=True)
class Winter:
    """What is known of a vessel's winter.

    Attributes:
        season: which versions of her record belong to it, and since when it counts.
        alerts: her alerts since then.
        cold: how cold each of her systems was, as it stood.
        words: what was said at her gate, oldest first.
        bilges: what each bilge sensor has said since she is in the slings, by sensor id.
        now_ms: event time now.
        zone: the yard's.
    """

    season: Season
    alerts: Iterable[Alert]
    cold: Iterable[Cold]
    words: Sequence[GateWord]
    bilges: Mapping[str, Sequence[Point]]
    now_ms: int
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class Gate:
    """A vessel's launch gate as it stands.

    Attributes:
        record: her valid record.
        items: the spring list, in the order of the day.
        dryness: her minutes in the slings; None where she is afloat and nobody had her in any.
    """

    record: Vessel
    items: tuple[GateItem, ...]
    dryness: Dryness | None

    @property
    def due_before_lift(self) -> tuple[GateItem, ...]:
        """What holds her up."""
        return tuple(item for item in self.items if item.stage is Stage.LIFT and item.stands_open)

    @property
    def overridden(self) -> tuple[GateItem, ...]:
        """What was due before lift and overridden, and is not done."""
        return tuple(i for i in self.items if i.stage is Stage.LIFT and not i.is_closed and not i.stands_open)

    @property
    def is_ready(self) -> bool:
        """Whether nothing that was found holds her up."""
        return not self.due_before_lift

    def of(self, stage: Stage) -> tuple[GateItem, ...]:
        """Give what is due at a stage."""
        return tuple(item for item in self.items if item.stage is stage)

    def item(self, item_id: str) -> GateItem | None:
        """Find an item by its id."""
        return next((item for item in self.items if item.id == item_id), None)


def gate_of(winter: Winter) -> Gate:
    """Give a vessel's launch gate as it stands."""
    season, record = winter.season, winter.season.record
    words = [word for word in winter.words if word.at_ms >= season.said_from_ms]
    today = datetime.fromtimestamp(winter.now_ms / 1000, winter.zone).date()
    found = [
        *openings(season.versions),
        *winters(season.versions, winter.alerts, winter.cold),
        *recorded(season.versions, today),
    ]
    slings = slings_from(words)
    dry = None
    if slings is not None or not is_afloat(record):
        dry = dryness(record, records_since(season.versions, slings), words, winter.bilges)
        found.append(_slings(dry))
    items = [_with_words(item, words) for item in found]
    return Gate(record, tuple(sorted(items, key=lambda item: item.stage)), dry)


def _slings(dry: Dryness) -> GateItem:
    what = "Dry for ten minutes afloat with the slings on"
    done = None if not dry.is_dry else Said("her bilge sensors" if dry.person is None else dry.person.actor, dry.at_ms)
    return GateItem(SLINGS_DRY, what, Stage.SLINGS, "Common practice, no source", done=done)


def _with_words(item: GateItem, words: Iterable[GateWord]) -> GateItem:
    """Give an item with what people said of it; all of it stays in its history, also what no longer counts."""
    done, override, history = item.done, item.override, list(item.history)
    sighted: list[Said] = []
    for word in words:
        if word.item != item.id or word.act not in OF_AN_ITEM or item.id == SLINGS_DRY:
            continue
        said = Said(word.actor, word.at_ms, word.note)
        history.append((word.act.value, said))
        if word.at_ms < item.since_ms:
            continue
        match word.act:
            case GateAct.DONE if not item.is_hull:
                done = said
            case GateAct.OVERRIDE if not item.is_hull:
                override = said
            case GateAct.SIGHT if item.is_hull:
                if not any(may_be_one(said.by, other.by) for other in sighted):
                    sighted.append(said)
            case GateAct.REOPEN:
                done, override, sighted = None, None, []
            case _:
                continue  # cannot be said of it: kept in its history, and changes nothing
    return replace(item, done=done, override=override, sighted=tuple(sighted), history=tuple(history))

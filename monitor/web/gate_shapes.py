"""The launch gate as the API gives it. Times are RFC 3339 in UTC."""

from datetime import datetime
from typing import Self

from pydantic import BaseModel

from monitor.record.gate import Gate
from monitor.record.gate_dry import Dryness
from monitor.record.gate_item import GateItem, Said, Stage
from monitor.record.gate_says import CAUTIONS, Spell, slings_words, standing, state_word, verdict
from monitor.web.shapes import maybe


class SaidOut(BaseModel):
    """Who said something when; no time where only the record has it."""

    by: str
    at: datetime | None
    note: str

    @classmethod
    def of(cls, said: Said) -> Self:
        """Give it as data."""
        return cls(by=said.by, at=maybe(said.at_ms), note=said.note)


class GateItemOut(BaseModel):
    """One thing of the spring list, and how it was closed."""

    id: str
    stage: str
    what: str
    why: str
    alert: str | None
    hull_opening: bool
    open: bool
    state: str
    standing: str
    done: SaidOut | None
    override: SaidOut | None
    sighted: list[SaidOut]

    @classmethod
    def of(cls, item: GateItem, spell: Spell) -> Self:
        """Give an item as data."""
        return cls(
            id=item.id,
            stage=item.stage.code,
            what=item.what,
            why=item.why,
            alert=item.alert or None,
            hull_opening=item.is_hull,
            open=item.stands_open,
            state=state_word(item).lower(),
            standing=standing(item, spell),
            done=None if item.done is None else SaidOut.of(item.done),
            override=None if item.override is None else SaidOut.of(item.override),
            sighted=[SaidOut.of(said) for said in item.sighted],
        )


class SlingsOut(BaseModel):
    """Her minutes in the slings."""

    how: str
    since: datetime | None
    dry: bool
    text: str

    @classmethod
    def of(cls, dry: Dryness, spell: Spell) -> Self:
        """Give them as data."""
        since = None if dry.slings is None else maybe(dry.slings.at_ms)
        return cls(how=dry.how.value, since=since, dry=dry.is_dry, text=slings_words(dry, spell))


class CautionOut(BaseModel):
    """Something to keep to, and where it comes from."""

    text: str
    source: str


class GateOut(BaseModel):
    """A vessel's launch gate: ``ready`` says that nothing which was found holds her up, and no more than that."""

    vessel: str
    name: str
    ready: bool
    verdict: str
    due_before_lift: list[str]
    overridden: list[str]
    slings: SlingsOut | None
    stages: list[str]
    items: list[GateItemOut]
    cautions: list[CautionOut]

    @classmethod
    def of(cls, gate: Gate, spell: Spell) -> Self:
        """Give a launch gate as data."""
        return cls(
            vessel=gate.record.id,
            name=gate.record.name,
            ready=gate.is_ready,
            verdict=verdict(gate),
            due_before_lift=[item.id for item in gate.due_before_lift],
            overridden=[item.id for item in gate.overridden],
            slings=None if gate.dryness is None else SlingsOut.of(gate.dryness, spell),
            stages=[stage.code for stage in Stage],
            items=[GateItemOut.of(item, spell) for item in gate.items],
            cautions=[CautionOut(text=text, source=source) for text, source in CAUTIONS],
        )

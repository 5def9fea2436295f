"""Faults by chance: how common each is, and how badly and how long it strikes when it does."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from math import exp, log
from random import Random
from typing import Annotated, Any, Self

from pydantic import Field, TypeAdapter, ValidationError, model_validator

from monitor.model.document import mistakes
from monitor.model.equipment import Document
from monitor.model.vessel import Vessel
from simulator.faults import Fault, fault_type
from simulator.faults.fault import FaultPlan

Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
_FAULTS: TypeAdapter[FaultPlan] = TypeAdapter(Fault)
_ANY_TIME = {"begins": "2000-01-01T00:00:00Z"}
HOUR = timedelta(hours=1)


class Span(Document):
    """A span that a figure is drawn from: each doubling in it is as likely as another, where it lies above nothing."""

    least: float
    most: float

    @model_validator(mode="before")
    @classmethod
    def _of_two(cls, data: object) -> object:
        if isinstance(data, list):
            if len(data) != 2:
                raise ValueError("a span is two numbers, the least and the most")
            return {"least": data[0], "most": data[1]}
        return {"least": data, "most": data} if isinstance(data, (int, float)) else data

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.least > self.most:
            raise ValueError(f"a span's least, {self.least:g}, lies above its most, {self.most:g}")
        return self

    def draw(self, random: Random) -> float:
        """Draw a figure."""
        if self.least == self.most:
            return self.least
        if self.least > 0:
            return exp(random.uniform(log(self.least), log(self.most)))
        return random.uniform(self.least, self.most)


class Chance(Document):
    """A kind of fault, the share of the vessels it can befall that it does befall, and its figures.

    Attributes:
        kind: the fault's kind.
        chance: the share of the vessel-winters in which it happens, of those in which it can.
        lasts_h: hours until it is put right; nobody does where it is left out.
        begins_day: days of the winter, from 0, on which it may begin; any that leaves it time where it is left out.
        begins_hour: hours of the day, UTC, at which it may begin.
        figures: the fault's other figures, each a number or a span of two.
    """

    kind: str
    chance: Share
    lasts_h: Span | None = None
    begins_day: Span | None = None
    begins_hour: Span | None = None
    times: Annotated[int, Field(ge=1, le=200)] = 1
    figures: dict[str, Span] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _makes_a_fault(self) -> Self:
        kind = fault_type(self.kind)
        dummy: dict[str, Any] = dict.fromkeys(kind.model_fields.keys() & {"bilge", "other"}, "any")
        for end in ("least", "most"):
            figures = {name: getattr(span, end) for name, span in self.figures.items()}
            try:
                _FAULTS.validate_python(
                    {"kind": self.kind, "vessel": "any", "subject": "any", **_ANY_TIME, **dummy, **figures}
                )
            except ValidationError as error:
                raise ValueError("; ".join(mistakes(error, f"figures ({end})"))) from error
        return self

    def draw(self, record: Vessel, random: Random, begins: datetime, ends: datetime, other: str) -> list[FaultPlan]:
        """Draw whether it befalls a vessel in a winter, and what then.

        Args:
            record: the vessel's record.
            random: her own generator for this chance.
            begins: the winter's first hour.
            ends: its last hour.
            other: the vessel beside her, for what takes two.
        """
        strikes = random.random() < self.chance
        ways = fault_type(self.kind).ways(record)
        if not strikes or not ways:
            return []
        way = random.choice(ways)
        if "other" in fault_type(self.kind).model_fields:
            way = {**way, "other": other}
        return [self._one(record, way, random, begins, ends) for _ in range(self.times)]

    def _one(
        self, record: Vessel, way: Mapping[str, str], random: Random, begins: datetime, ends: datetime
    ) -> FaultPlan:
        figures = {name: span.draw(random) for name, span in self.figures.items()}
        lasts = None if self.lasts_h is None else max(round(self.lasts_h.draw(random)), 1) * HOUR
        hours = int((ends - begins) / HOUR)
        if fault_type(self.kind).lies_in_record:
            at = begins
        else:
            left = max(hours - 1 - (0 if lasts is None else int(lasts / HOUR)), 1)
            if self.begins_day is None:
                hour = random.randrange(left)
            else:
                hour = round(24 * random.uniform(self.begins_day.least, self.begins_day.most))
            at = begins + min(hour, left - 1) * HOUR
            if self.begins_hour is not None:
                of_day = round(random.uniform(self.begins_hour.least, self.begins_hour.most))
                at = at.replace(hour=of_day % 24)
            at = min(max(at, begins), begins + (left - 1) * HOUR)
        ended = None if lasts is None else min(at + lasts, ends - HOUR)
        return _FAULTS.validate_python(
            {"kind": self.kind, "vessel": record.id, **way, "begins": at, "ends": ended, **figures}
        )

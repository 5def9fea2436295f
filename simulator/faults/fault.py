"""What a fault is: whom it befalls, when, and which alerts it makes right. Each kind stands in a file of its hazard.

Something harmless that looks like a fault is one too: it explains no alert, or only some.
"""

from abc import abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, ClassVar, Self

from pydantic import AwareDatetime, field_validator, model_validator

from monitor.model.equipment import Document, Slug
from monitor.model.vessel import Vessel
from simulator.boat import Boat, Happening
from simulator.truth import Cause, Explains

DAY_MS = 86_400_000


class FaultPlan(Document):
    """One fault of one boat. Times are whole hours.

    Attributes:
        vessel: whom it befalls.
        subject: the thing in her record that it lies in.
        begins: when it begins.
        ends: when somebody puts it right, None where nobody does.
        expected_rules: the rules that ought to notice; empty for what is harmless.
        lies_in_record: whether the record shows it from the start, so that it has no time of its own.
        traces_ms: how long after its end its traces may still be told of.
    """

    vessel: Slug
    subject: Slug
    begins: AwareDatetime
    ends: AwareDatetime | None = None
    expected_rules: ClassVar[tuple[str, ...]] = ()
    lies_in_record: ClassVar[bool] = False
    traces_ms: ClassVar[int] = 7 * DAY_MS

    @field_validator("begins", "ends")
    @classmethod
    def _whole_hour(cls, at: AwareDatetime | None) -> AwareDatetime | None:
        if at is not None and at.timestamp() % 3600:
            raise ValueError("a fault begins and ends at a whole hour")
        return at

    @model_validator(mode="after")
    def _ends_later(self) -> Self:
        if self.ends is not None and self.ends <= self.begins:
            raise ValueError("ends before it begins")
        return self

    @property
    def begins_ms(self) -> int:
        """When it begins, ms UTC."""
        return round(self.begins.timestamp()) * 1000

    @property
    def ends_ms(self) -> int | None:
        """When it is put right, ms UTC."""
        return None if self.ends is None else round(self.ends.timestamp()) * 1000

    @property
    def other_vessel(self) -> str | None:
        """The other vessel that it takes to happen, None where it takes none."""
        return None

    def happenings(self) -> Iterator[Happening]:
        """Give what befalls the boat."""
        yield Happening(self.begins_ms, self._begin)
        if self.ends_ms is not None:
            yield Happening(self.ends_ms, self.end)

    def _begin(self, boat: Boat) -> None:
        boat.truth.note_cause(self.cause(boat))
        self.begin(boat)

    def truth(self) -> dict[str, Any]:
        """Give the fault as data for a report, with the rules that ought to notice."""
        return {**self.model_dump(mode="json", exclude={"vessel"}), "expected_rules": list(self.expected_rules)}

    def cause(self, boat: Boat) -> Cause:
        """Give the fault as the truth log holds it, when it begins."""
        return Cause(
            kind=getattr(self, "kind", type(self).__name__),
            vessel=self.vessel,
            subject=self.subject,
            begins_ms=self.begins_ms,
            ends_ms=self.ends_ms,
            explains=self.explains(boat.record),
            traces_ms=self.traces_ms,
            facts=self.facts(boat),
        )

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """Give the alerts that it makes right: those of the rules that ought to notice, on its subject."""
        del record
        return tuple(Explains(rule, self.subject) for rule in self.expected_rules)

    def facts(self, boat: Boat) -> dict[str, float | str | bool]:
        """Give the figures that a score sorts it by, when it begins."""
        del boat
        return {}

    def begin(self, boat: Boat) -> None:
        """Begin. A fault of the record has nothing to change."""

    def end(self, boat: Boat) -> None:
        """Put it right."""

    def amend(self, record: Vessel) -> Vessel:
        """Give a made-up record with the fault in it, where it is one that the record shows."""
        return record

    @classmethod
    @abstractmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """Give each way in which it can befall her: the names it has to have. Empty where it cannot."""

    def misfits(self, record: Vessel) -> Iterator[str]:
        """Give what this fault names and the record does not know."""
        ways = self.ways(record)
        mine: Mapping[str, object] = {key: getattr(self, key) for key in (ways[0] if ways else ())}
        if mine not in ways:
            subjects = sorted({way["subject"] for way in ways})
            if self.subject not in subjects:
                yield (f"subject {self.subject!r} is none of {record.id}'s: {', '.join(subjects) or 'she has none'}")
            else:
                named = ", ".join(f"{k} {v!r}" for k, v in mine.items() if k != "subject")
                yield f"{named} is none of {record.id}'s"


def ways_of(subjects: Iterable[str | None]) -> list[dict[str, str]]:
    """Give one way a subject, in the order of the subjects' names; None is no subject."""
    return [{"subject": subject} for subject in sorted({s for s in subjects if s is not None})]

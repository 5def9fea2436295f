"""A winter's exposures as rows of text: frost, volts, damp air, water."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from monitor.messages.figures import Figures
from monitor.model.views import ReadingView
from monitor.report.exposure import Beyond
from monitor.report.exposure_damp import Damp, damp
from monitor.report.exposure_held import air, frost, volts, water
from monitor.report.winter import Winter
from monitor.rules.damp_limits import LIMITS as DAMP

Row = list[str]
Spell = Callable[[int], str]
_MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True)
class ExposureRows:
    """A winter's exposures.

    Attributes:
        winter: which.
        readings: what sensors said.
        figures: how figures are written.
        at: writes a time for people.
    """

    winter: Winter
    readings: ReadingView
    figures: Figures
    at: Spell

    def frost(self) -> list[Row]:
        """Give system, limit, hours, degree-hours, hours touched, coldest reading, hours heard."""
        return self._rows(frost(self.winter, self.readings), self.figures.degc)

    def volts(self) -> list[Row]:
        """Give the same of each battery, in volts."""
        return self._rows(volts(self.winter, self.readings), self.figures.volts, 2)

    def air(self) -> list[Row]:
        """Give the same of each space's humidity."""
        return self._rows(air(self.winter, self.readings), self.figures.pct)

    def water(self) -> list[Row]:
        """Give the same of each bilge: levels in millimetres, and hours in which its float switch was up."""
        found = list(water(self.winter, self.readings))
        levels = self._rows((b for b in found if not _is_float(b)), self.figures.mm, 0, _MM_PER_M)
        return levels + [self._float(b) for b in found if _is_float(b)]

    def damp(self) -> list[Row]:
        """Give space, hours known, hours with its coldest surface wet, and the highest mould index."""
        return [self._damp(one) for one in damp(self.winter, self.readings)]

    def _rows(
        self, found: Iterable[Beyond], unit: Callable[[float], str], digits: int = 1, factor: float = 1.0
    ) -> list[Row]:
        rows = []
        for one in found:
            farthest = "nothing heard"
            if one.farthest is not None and one.farthest_ms is not None:
                farthest = f"{unit(one.farthest * factor)}, hour of {self.at(one.farthest_ms)}"
            limit = unit(one.limit * factor)
            rows.append(
                [
                    one.what + self._span(one.from_ms, one.to_ms),
                    f"{limit}, {one.limit_words}" if one.limit_words else limit,
                    str(one.hours),
                    self.figures.number(one.depth_hours * factor, digits),
                    str(one.touched),
                    farthest,
                    _heard(one),
                ]
            )
        return rows

    def _float(self, one: Beyond) -> Row:
        """Give a switch's hours up; it has no depth."""
        last = "never up" if one.heard else "nothing heard"
        if one.touched and one.farthest_ms is not None:
            last = f"up, first in the hour of {self.at(one.farthest_ms)}"
        what = one.what + self._span(one.from_ms, one.to_ms)
        return [what, one.limit_words, str(one.hours), "\u2013", str(one.touched), last, _heard(one)]

    def _damp(self, one: Damp) -> Row:
        index = self.figures.number(one.mould, 2)
        reached = ", first growth" if one.mould >= DAMP["mould_index"] else ""
        mould = f"{index}{reached}" if one.known else "not known"
        return [one.space + self._span(one.from_ms, one.to_ms), str(one.known), str(one.wet), mould]

    def _span(self, from_ms: int, to_ms: int) -> str:
        """Say which part of the winter a row is of, where it is not all of it."""
        begins = f" from {self.at(from_ms)}" if from_ms > self.winter.from_ms else ""
        ends = f" to {self.at(to_ms)}" if to_ms < self.winter.to_ms else ""
        return f";{begins}{ends}" if begins or ends else ""


def _is_float(one: Beyond) -> bool:
    return one.limit_words == "float switch up"


def _heard(one: Beyond) -> str:
    return f"{one.heard}, {one.doubted} in doubt" if one.doubted else str(one.heard)

"""The rows of a weather file as series of figures, with a list of what is wrong with them."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from simulator.hours import HOUR_MS

# What can be weather, and the unit; beyond it, a figure is a slip of the pen or in another unit. Common sense.
SPANS = {
    "outside_degc": (-60.0, 50.0),
    "dew_point_degc": (-70.0, 35.0),
    "humidity_percent": (1.0, 110.0),
    "wind_m_s": (0.0, 60.0),
    "rain_mm": (0.0, 200.0),
    "sun_w_m2": (0.0, 1400.0),
    "pressure_hpa": (870.0, 1085.0),
}
HUMIDITY = ("dew_point_degc", "humidity_percent")
# Rounding to whole degrees lifts a dew point above its air by less than this.
DEW_ABOVE_AIR_K = 1.0
# More would hide what is wrong rather than tell it.
MOST_MISTAKES = 40


@dataclass(slots=True)
class Series:
    """The observed figures of one column, in time order."""

    name: str
    times: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    def gaps(self, source: str, longest_h: float, times: Sequence[int]) -> Iterator[str]:
        """Say each gap that is too long to fill, in a file of rows at those times."""
        if not self.times:
            return
        edges = zip(pairwise((times[0], *self.times, times[-1])), (*self.lines, self.lines[-1]), strict=True)
        for (a_ms, b_ms), line in edges:
            if b_ms - a_ms > longest_h * HOUR_MS:
                yield (
                    f"{source}: line {line}, {self.name}: {(b_ms - a_ms) / HOUR_MS:g} h without a figure beside it; at "
                    f"most {longest_h:g} h are filled: cut the file there, or find the hours"
                )

    def at(self, at_ms: Sequence[int]) -> list[float]:
        """Give the figures at rising times in a straight line between the observed, level before and after them."""
        times, values = self.times, self.values
        found, n, last = [], 0, len(times) - 1
        for now_ms in at_ms:
            while n < last and times[n + 1] <= now_ms:
                n += 1
            if n == last or now_ms <= times[n]:
                found.append(values[n])
            else:
                share = (now_ms - times[n]) / (times[n + 1] - times[n])
                found.append(values[n] + share * (values[n + 1] - values[n]))
        return found


@dataclass(slots=True)
class Rows:
    """A file's rows: when each is, its columns, and what is wrong.

    Attributes:
        source: the file's name, for errors.
        times: of the rows that have a good one, ms UTC.
        series: by column.
        mistakes: a line each: file, line, column, what is wrong, what to do.
    """

    source: str
    times: list[int] = field(default_factory=list)
    series: dict[str, Series] = field(default_factory=dict)
    mistakes: list[str] = field(default_factory=list)

    @classmethod
    def read(cls, path: Path) -> "Rows":
        """Read a file; nothing that is wrong with it is raised here."""
        rows = cls(path.name)
        with path.open(encoding="utf-8-sig", newline="") as lines:
            table = csv.reader(lines)
            header: list[str] | None = None
            for cells in table:
                if not cells or cells[0].startswith("#"):
                    continue
                if header is None:
                    header = [c.strip() for c in cells]
                    rows._head(header, table.line_num)
                    if rows.mistakes:
                        return rows
                elif len(cells) != len(header):
                    rows._wrong(
                        table.line_num, "row", f"has {len(cells)} cells where the header has {len(header)}", "mend it"
                    )
                else:
                    rows._row(dict(zip(header, cells, strict=True)), table.line_num)
        if header is None:
            rows._wrong(1, "header", "is missing", f"name the columns: time, {', '.join(SPANS)}")
        rows._whole()
        return rows

    def rain(self, at_ms: range) -> list[float]:
        """Give what fell in the hour before each whole hour: a row's rain fell since the row before, in an hour."""
        fell = [0.0] * len(at_ms)
        rain = self.series.get("rain_mm")
        if rain is None:
            return fell
        before_ms = self.times[0] - HOUR_MS
        of_row = dict(zip(rain.times, rain.values, strict=True))
        for now_ms in self.times:
            mm = of_row.get(now_ms, 0.0)
            since_ms = max(before_ms, now_ms - HOUR_MS)
            before_ms = now_ms
            if not mm:
                continue
            # It may lie in two hours; n is the one that holds its end.
            n = -(-(now_ms - at_ms.start) // HOUR_MS)
            turn_ms = max(since_ms, at_ms.start + (n - 1) * HOUR_MS)
            later = (now_ms - turn_ms) / (now_ms - since_ms)
            for hour, share in ((n, later), (n - 1, 1 - later)):
                if 0 <= hour < len(fell):
                    fell[hour] += share * mm
        return fell

    def _head(self, header: list[str], line: int) -> None:
        known = {"time", *SPANS}
        for name in header:
            if name not in known:
                self._wrong(line, name or "(no name)", "is no known column", f"known are {', '.join(sorted(known))}")
        for name in sorted({n for n in header if header.count(n) > 1}):
            self._wrong(line, name, "stands twice", "leave one")
        for name in ("time", "outside_degc"):
            if name not in header:
                self._wrong(line, name, "is missing", "add the column")
        if not set(header) & set(HUMIDITY):
            self._wrong(line, " or ".join(HUMIDITY), "is missing", "add one of them")
        self.series = {n: Series(n) for n in header if n in SPANS}

    def _row(self, cells: dict[str, str], line: int) -> None:
        at_ms = self._time(cells["time"].strip(), line)
        figures = {name: self._figure(name, cells[name].strip(), line) for name in self.series}
        degc, dew = figures["outside_degc"], figures.get("dew_point_degc")
        if degc is not None and dew is not None and dew > degc + DEW_ABOVE_AIR_K:
            self._wrong(line, "dew_point_degc", f"{dew:g} lies above its air of {degc:g}", "leave the bad cell empty")
        if at_ms is None:
            return
        self.times.append(at_ms)
        for name, value in figures.items():
            if value is not None:
                series = self.series[name]
                series.times.append(at_ms)
                series.values.append(value)
                series.lines.append(line)

    def _time(self, text: str, line: int) -> int | None:
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            self._wrong(line, "time", f"{text!r} is no time", "write it like 2026-01-31T06:00Z")
            return None
        if at.tzinfo is None:
            self._wrong(line, "time", f"{text!r} has no UTC offset", "write it like 2026-01-31T06:00Z or ...+01:00")
            return None
        at_ms = round(at.timestamp() * 1000)
        if self.times and at_ms <= self.times[-1]:
            self._wrong(line, "time", f"{text!r} does not come after the row before", "sort the rows; take out repeats")
            return None
        return at_ms

    def _figure(self, name: str, text: str, line: int) -> float | None:
        if not text:
            return None
        low, high = SPANS[name]
        try:
            value = float(text)
        except ValueError:
            self._wrong(line, name, f"{text!r} is no number", "leave the cell empty where nothing was observed")
            return None
        if not low <= value <= high:
            self._wrong(
                line, name, f"{text} lies outside {low:g} to {high:g}", "check the unit; empty means not observed"
            )
            return None
        return value

    def _whole(self) -> None:
        if self.mistakes:
            return
        for name in ("outside_degc", *HUMIDITY):
            if name in self.series and len(self.series[name].times) < 2:
                self._wrong(1, name, "has fewer than two figures", "give at least two rows")
        if not self.mistakes and self.times[-1] - self.times[0] < 2 * HOUR_MS:
            self._wrong(1, "time", "the rows reach over less than two hours", "give more rows")

    def _wrong(self, line: int, column: str, what: str, todo: str) -> None:
        if len(self.mistakes) < MOST_MISTAKES:
            self.mistakes.append(f"{self.source}: line {line}, {column}: {what}: {todo}")
        elif len(self.mistakes) == MOST_MISTAKES:
            self.mistakes.append(f"{self.source}: and more: mend these first")

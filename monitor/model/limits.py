"""Limits are data: the rows of a table, each with its figure, unit, source, reason and what to do."""

from collections.abc import Iterator
from dataclasses import dataclass

_MS = {"s": 1_000, "min": 60_000, "h": 3_600_000, "d": 86_400_000}


@dataclass(frozen=True, slots=True)
class Limit:
    """One row of a table of limits: the figure, and everything needed to trust or change it."""

    name: str
    value: float
    unit: str
    source: str
    reason: str
    do: str


class Limits:
    """A table of limits. ``limits["margin_caution"]`` is the figure; iterating gives the rows."""

    def __init__(self, *rows: Limit) -> None:
        self.rows = {row.name: row for row in rows}
        if len(self.rows) != len(rows):
            raise ValueError("limits: a name stands twice")

    def __getitem__(self, name: str) -> float:
        """Give the figure of a row."""
        return self.rows[name].value

    def __iter__(self) -> Iterator[Limit]:
        """Give the rows in their order."""
        return iter(self.rows.values())

    def ms(self, name: str) -> int:
        """Give a row's time in milliseconds, from the unit it stands in (``s``, ``min``, ``h`` or ``d``)."""
        row = self.rows[name]
        return round(row.value * _MS[row.unit])

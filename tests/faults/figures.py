"""The line of figures that each fault test prints, and that deploy/docs/nothing_lost.md is made of."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from troubled import Key, TroubledYard

LINE = re.compile(
    r"figures: (?P<fault>.+): published ([\d,]+), acknowledged ([\d,]+), stored ([\d,]+), lost ([\d,]+),"
    r" doubled ([\d,]+)(?:; (?P<more>.+))?$"
)


@dataclass(frozen=True, slots=True)
class Figures:
    """What became of the readings of a fault test.

    Attributes:
        fault: what went wrong, in words.
        published: readings given to the publishers.
        acknowledged: readings that the broker took.
        stored: readings that are in the journal.
        lost: readings acknowledged and not stored, or stored with another value.
        doubled: readings stored that were never sent, and alert events that stand twice.
        more: what else was measured.
    """

    fault: str
    published: int
    acknowledged: int
    stored: int
    lost: int
    doubled: int
    more: str = ""

    def __str__(self) -> str:
        more = f"; {self.more}" if self.more else ""
        return (
            f"figures: {self.fault}: published {self.published:,}, acknowledged {self.acknowledged:,},"
            f" stored {self.stored:,}, lost {self.lost:,}, doubled {self.doubled:,}{more}"
        )


def held_against(
    fault: str, yard: TroubledYard, sent: Mapping[Key, float], acknowledged: int, more: str = ""
) -> Figures:
    """Hold what is stored against what was sent, print it, and see that nothing is lost or doubled."""
    stored = yard.stored()
    lost = sum(1 for key, value in sent.items() if stored.get(key) != value)
    doubled = sum(1 for key in stored if key not in sent) + doubled_events(yard.events())
    figures = Figures(fault, len(sent), acknowledged, len(stored), lost, doubled, more)
    print(f"\n{figures}")
    assert acknowledged == len(sent), "the publishers were to retry until everything was acknowledged"
    assert (figures.lost, figures.doubled) == (0, 0)
    return figures


def doubled_events(events: Iterable[tuple[str, str, int]]) -> int:
    """Count the events of one alert that say the same change of the same time again."""
    return sum(count - 1 for count in Counter(events).values())

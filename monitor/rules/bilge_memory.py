"""What the bilge rule keeps of one bilge. Bounded: its windows hold 12 hours, 8 days and 32 days in blocks."""

from dataclasses import dataclass, field

from monitor.model.reading import Seen
from monitor.rules.bilge_drift import Drift
from monitor.rules.bilge_pump import Pump
from monitor.rules.blocks import Blocks
from monitor.rules.cadence import Cadence
from monitor.rules.exposure import Exposures
from monitor.rules.last_word import LastWord
from monitor.rules.rising import Rise
from monitor.science.moments import RecentMoments


@dataclass(slots=True)
class Missed:
    """High water that came to our ears late.

    Attributes:
        highest_m: highest level heard late, None where only the float switch told.
        by_float: whether the float switch was up.
        told_ms: when it was first told, None before.
    """

    from_ms: int
    to_ms: int
    highest_m: float | None = None
    by_float: bool = False
    told_ms: int | None = None


@dataclass(slots=True)
class BilgeWord(LastWord):
    """What was told of a bilge last.

    Attributes:
        highest_m: the highest level while it was told, None where it told of no high water.
    """

    highest_m: float | None = None


@dataclass(slots=True)
class BilgeMemory:
    """One bilge as it was last known.

    Attributes:
        lies: where she lay when the windows were filled: ``afloat``, ``ashore``, ``lifted``, empty before.
        heard: when the level sensor spoke, whatever the quality of what it said.
        level: the newest level that passed its tests.
        high: the newest believable level at the high mark, None while the bilge is not high.
        doubt: the newest level at the high mark that is not believed and not yet answered by a believable lower one.
        float_heard: when the float switch spoke.
        float_up_ms: since when it is up, None while it is down.
        float_down_ms: since when it is down again, None where it never was up.
        float_doubt_ms: when it last said something that is neither up nor down, but more like up.
        noise: spread of the steps between neighbouring levels, m.
        lowest_m: no level of the last hours is lower.
        hours: the level's last hours.
        days: its last days.
        weeks: its last weeks.
        temperature_days: the bilge's thermometer over the same days.
        temperature_weeks: and over the same weeks.
        drift: what the level does with temperature.
        pump: what its pump did.
        fast: a rise that shows in hours, while it lasts.
        slow: a rise that shows in days or weeks, while it lasts.
        urgent: whether the rise was last called an alarm.
        missed: high water heard of late.
        spoke_ms: when a finding was last made of it.
        told: what that was, until its alert has had time to clear.
    """

    lies: str = ""
    heard: Cadence = field(default_factory=Cadence)
    level: Seen | None = None
    high: Seen | None = None
    doubt: Seen | None = None
    float_heard: Cadence = field(default_factory=Cadence)
    float_up_ms: int | None = None
    float_doubt_ms: int | None = None
    float_down_ms: int | None = None
    noise: RecentMoments = field(default_factory=RecentMoments)
    lowest_m: float = 1e3
    hours: Blocks = field(default_factory=Blocks)
    days: Blocks = field(default_factory=Blocks)
    weeks: Blocks = field(default_factory=Blocks)
    temperature_days: Blocks = field(default_factory=Blocks)
    temperature_weeks: Blocks = field(default_factory=Blocks)
    drift: Drift = field(default_factory=Drift)
    pump: Pump = field(default_factory=Pump)
    fast: Rise | None = None
    slow: Rise | None = None
    urgent: bool = False
    missed: Missed | None = None
    spoke_ms: int | None = None
    told: BilgeWord | None = None

    @property
    def is_still(self) -> bool:
        """Whether no witness has anything to say or just had, and no pump has run that might soon be told of."""
        pump = self.pump
        if pump.bins or pump.on_since_ms is not None:
            return False
        told = (self.float_up_ms, self.float_doubt_ms, self.high, self.doubt, self.fast, self.slow)
        return told == _NOTHING_TOLD and self.missed is None and self.told is None


_NOTHING_TOLD = (None,) * 6


@dataclass(slots=True)
class BilgeState:
    """What the rule keeps of one vessel.

    Attributes:
        bilges: one memory a bilge.
        deaf_to_ms: until when the agent itself was deaf.
        exposures: how what was left wet aboard froze and thawed.
        thawed_ms: when something of it last thawed, 0 where it never did.
        volts: what the battery that feeds the pump last said.
    """

    bilges: dict[str, BilgeMemory] = field(default_factory=dict)
    deaf_to_ms: int = 0
    exposures: Exposures = field(default_factory=Exposures)
    thawed_ms: int = 0
    volts: Seen | None = None

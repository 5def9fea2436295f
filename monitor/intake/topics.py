"""The topic scheme of a yard: built here for those who publish, taken apart here for those who listen."""

from dataclasses import dataclass
from enum import Enum, auto
from typing import NamedTuple

from monitor.model.vessel import RESERVED_IDS

ROOT = "layup"


class Kind(Enum):
    """What a topic carries."""

    READINGS = auto()
    BARE = auto()
    CLOCK = auto()
    MARKER = auto()
    FORECAST = auto()
    NOT_FOR_US = auto()
    UNKNOWN = auto()


class Address(NamedTuple):
    """A topic taken apart."""

    kind: Kind
    vessel: str = ""
    sensor: str = ""


@dataclass(frozen=True, slots=True)
class Topics:
    """The topics of one yard."""

    yard: str

    def readings(self, vessel: str) -> str:
        """Where a vessel's SenML packs go."""
        return f"{ROOT}/{self.yard}/{vessel}/readings"

    def bare(self, vessel: str, sensor: str) -> str:
        """Where one sensor's bare numbers go."""
        return f"{ROOT}/{self.yard}/{vessel}/{sensor}"

    @property
    def clock(self) -> str:
        """Where the demo says what time it is: whole milliseconds UTC, in decimal digits.

        MQTT keeps the order of one topic only; brokers keep that of one subscription. So the clock comes in by the same
        one as the readings.
        """
        return f"{ROOT}/{self.yard}/agent/clock"

    @property
    def marker(self) -> str:
        """Where the agent sends the marker that tells it that the backlog is drained."""
        return f"{ROOT}/{self.yard}/agent/marker"

    @property
    def agent(self) -> str:
        """Where the agent's state stands, retained."""
        return f"{ROOT}/{self.yard}/agent"

    @property
    def forecast(self) -> str:
        """Where the forecast comes in: a SenML pack of ``temperature`` for times to come, retained or not."""
        return f"{ROOT}/{self.yard}/forecast"

    @property
    def filters(self) -> tuple[str, ...]:
        """What the agent subscribes to. Marker and clock come in by the first, in their place among the readings."""
        return (f"{ROOT}/{self.yard}/+/+", self.forecast)

    def covers(self, topic_filter: str) -> bool:
        """Whether all that a filter lets through comes in by `filters` already."""
        levels = topic_filter.split("/")
        return levels[:2] == [ROOT, self.yard] and len(levels) == len([ROOT, self.yard, "+", "+"]) and levels[-1] != "#"

    def parse(self, topic: str) -> Address:
        """Take a topic apart. The scheme's fixed topics are told from the rest by the reserved words.

        >>> Topics("north").parse("layup/north/tern/block")
        Address(kind=<Kind.BARE: 2>, vessel='tern', sensor='block')
        >>> Topics("north").parse("layup/south/tern/block").kind
        <Kind.UNKNOWN: 6>
        """
        match topic.split("/"):
            case [root, yard, vessel, sensor] if root == ROOT and yard == self.yard:
                if vessel in RESERVED_IDS:
                    return Address({self.marker: Kind.MARKER, self.clock: Kind.CLOCK}.get(topic, Kind.UNKNOWN))
                return Address(Kind.READINGS if sensor == "readings" else Kind.BARE, vessel, sensor)
            case [root, yard, "forecast"] if root == ROOT and yard == self.yard:
                return Address(Kind.FORECAST)
            case [root, yard, "agent"] if root == ROOT and yard == self.yard:
                return Address(Kind.NOT_FOR_US)
            case _:
                return Address(Kind.UNKNOWN)

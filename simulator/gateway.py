"""What lies between a boat's sensors and the broker: a gateway with its clock, its store and its link.

A gateway that nothing ails hands packs through. One that something ails stamps them wrongly, keeps them until its link
is back, lets them come late, twice or out of order, or loses them. All chance is drawn from its own seed.
"""

from collections import deque
from collections.abc import Sequence
from heapq import heappop, heappush
from random import Random
from typing import NamedTuple

from simulator.gateway_clock import GatewayClock

# What a pack holds: sensor, unit, stated time (ms), value.
PackReading = tuple[str, str, int, float]

MINUTE_MS = 60_000
# How long a link that is back takes until the first pack is through; common practice, no source.
RECONNECT_MS = 30_000
# How many packs a gateway keeps while its link is down: a week of ten-minute packs; common practice, no source.
STORE = 1_000


class Arrival(NamedTuple):
    """A pack as it comes to the broker.

    Attributes:
        at_ms: when it comes, ms UTC.
        readings: what is in it, with the times that the gateway's clock stated.
        retained: whether it is an old one that the broker hands out to a subscriber that has come back.
    """

    at_ms: int
    readings: list[PackReading]
    retained: bool = False


class Gateway:
    """One boat's gateway. What ails it is done to it by methods named for it.

    Attributes:
        dropped: how many packs it has lost: pushed out of the full store, or gone in a reboot.
    """

    __slots__ = (
        "_clock",
        "_is_plain",
        "_kept",
        "_lag_s",
        "_last",
        "_link_is_up",
        "_loses_next",
        "_not_before_ms",
        "_off_until_ms",
        "_random",
        "_repeats",
        "_serial",
        "_store",
        "_under_way",
        "dropped",
    )

    def __init__(self, seed: int | str, store: int = STORE) -> None:
        """Make one.

        Args:
            seed: of all chance in it.
            store: how many packs it keeps while its link is down.
        """
        if store < 1:
            raise ValueError(f"store is {store}; a gateway keeps at least 1 pack")
        self._clock = GatewayClock()
        self.dropped = 0
        self._random = Random(f"{seed}/gateway")
        self._store = store
        self._kept: deque[list[PackReading]] = deque()
        self._under_way: list[tuple[int, int, Arrival]] = []
        self._serial = 0
        self._link_is_up = True
        self._not_before_ms = 0
        self._off_until_ms = 0
        self._loses_next = False
        self._lag_s = 0.0
        self._repeats = 0.0
        self._last: list[PackReading] | None = None
        self._is_plain = True

    def send(self, at_ms: int, readings: list[PackReading]) -> Sequence[Arrival]:
        """Take a pack, and give what has come to the broker by now.

        Args:
            at_ms: the true time; it must not fall from call to call.
            readings: the pack, stamped with true times; none where there is nothing to send.

        Returns:
            What has come since the last call, this pack perhaps among it, in the order it came.
        """
        if self._is_plain:
            if not readings:
                return ()
            self._last = readings
            return (Arrival(at_ms, readings),)
        if readings:
            self._take(at_ms, readings)
        return self._arrived(at_ms)

    def due(self, now_ms: int) -> Sequence[Arrival]:
        """Give what has come to the broker since the last call, with no new pack."""
        return () if self._is_plain else self._arrived(now_ms)

    def lose_link(self) -> None:
        """Keep packs from now on, the newest where the store is full."""
        self._link_is_up = False
        self._is_plain = False

    def regain_link(self, at_ms: int, *, in_order: bool = True) -> None:
        """Send what was kept, half a minute from now and with its old times: oldest first, or in any order."""
        self._link_is_up = True
        self._not_before_ms = at_ms + RECONNECT_MS
        kept = list(self._kept)
        self._kept.clear()
        if not in_order:
            self._random.shuffle(kept)
        for readings in kept:
            self._pass_on(at_ms, readings)

    def lag(self, longest_s: float) -> None:
        """Let each pack take its own while, up to so many seconds: they overtake each other. 0 ends it."""
        self._lag_s = longest_s
        self._is_plain = False

    def repeat(self, share: float) -> None:
        """Send a share of the packs twice, as QoS 1 does where an acknowledgement got lost. 0 ends it."""
        self._repeats = share
        self._is_plain = False

    def reboot(self, at_ms: int, minutes: float = 2.0, *, loses_pack: bool = True, keeps_store: bool = True) -> None:
        """Be away for some minutes.

        Args:
            at_ms: when it goes down.
            minutes: how long; what would be sent meanwhile is never measured.
            loses_pack: whether the next pack is lost though it comes after that.
            keeps_store: whether what it kept for the link is still there after.
        """
        self._off_until_ms = at_ms + round(minutes * MINUTE_MS)
        self._loses_next = loses_pack
        if not keeps_store:
            self.dropped += len(self._kept)
            self._kept.clear()
        self._is_plain = False

    def forget_time(self, at_ms: int, restarts_at_ms: int = 0) -> None:
        """Lose the time, as in a reboot without a battery for the clock, until `clock_is_set`."""
        self._clock.forget(at_ms, restarts_at_ms)
        self._is_plain = False

    def clock_jumps(self, by_ms: int) -> None:
        """Have its clock set wrongly by so much; jumps add up, and one back undoes it."""
        self._clock.jump(by_ms)
        self._is_plain = False

    def clock_drifts(self, s_per_day: float, from_ms: int) -> None:
        """Have its clock gain so many seconds a day."""
        self._clock.drift(s_per_day, from_ms)
        self._is_plain = False

    def clock_is_set(self) -> None:
        """Have its clock right again."""
        self._clock.set_right()

    def hand_retained(self, at_ms: int) -> None:
        """Have the broker hand the last pack that came, however old, to a subscriber that is back, half a minute on."""
        if self._last is not None:
            self._depart(Arrival(at_ms + RECONNECT_MS, self._last, retained=True))
            self._is_plain = False

    def _take(self, at_ms: int, readings: list[PackReading]) -> None:
        if at_ms < self._off_until_ms or self._loses_next:
            self._loses_next = False
            self.dropped += 1
            return
        if not self._clock.is_right:
            reads = self._clock.reads
            readings = [(sensor, unit, reads(ms), value) for sensor, unit, ms, value in readings]
        if self._link_is_up:
            self._pass_on(at_ms, readings)
            return
        if len(self._kept) == self._store:
            self._kept.popleft()
            self.dropped += 1
        self._kept.append(readings)

    def _pass_on(self, at_ms: int, readings: list[PackReading]) -> None:
        late_ms = round(self._random.uniform(0.0, self._lag_s) * 1000) if self._lag_s else 0
        arrival = Arrival(max(at_ms + late_ms, self._not_before_ms), readings)
        self._depart(arrival)
        if self._repeats and self._random.random() < self._repeats:
            self._depart(arrival)

    def _depart(self, arrival: Arrival) -> None:
        self._serial += 1
        heappush(self._under_way, (arrival.at_ms, self._serial, arrival))

    def _arrived(self, now_ms: int) -> list[Arrival]:
        came = []
        while self._under_way and self._under_way[0][0] <= now_ms:
            arrival = heappop(self._under_way)[2]
            came.append(arrival)
            if not arrival.retained:
                self._last = arrival.readings
        self._is_plain = (
            self._link_is_up
            and self._clock.is_right
            and not self._under_way
            and not self._loses_next
            and not self._lag_s
            and not self._repeats
            and now_ms >= max(self._off_until_ms, self._not_before_ms)
        )
        return came

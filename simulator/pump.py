"""A bilge pump with a switch of its own: when it runs, what it moves by volts and lift, and what it draws."""

from math import sqrt

# A small submersible pump stops moving water at about this lift on its nominal volts; common practice, no source.
SHUT_OFF_M = 4.0
# What a plan says that a pump delivers aboard is meant at this lift.
USUAL_LIFT_M = 1.0
# Aboard it delivers about half of what is printed on it: hose, bends and lift take the rest (common practice).
ABOARD = 0.5


class Pump:
    """One bilge pump.

    Attributes:
        off_m: the level at which it stops.
        ready: whether it can run at all: there, wired, not failed.
        blocked: whether it runs and moves nothing.
        running: whether it runs.
        ran_s: for how long it ran in the last step.
        starts: how often it started in the last step.
        used_ah: what it drew in the last step.
        now_a: what it draws at the end of it.
    """

    __slots__ = (
        "_amps",
        "_l_s",
        "_lift_m",
        "_nominal_v",
        "_now_l_s",
        "_on_m",
        "_runs_a",
        "blocked",
        "now_a",
        "off_m",
        "ran_s",
        "ready",
        "running",
        "starts",
        "used_ah",
    )

    def __init__(
        self, l_h: float | None, on_m: float, off_m: float, amps: float, nominal_v: float, lift_m: float
    ) -> None:
        self._l_s = (l_h or 0.0) / 3600
        self._on_m, self.off_m = on_m, off_m
        self._amps, self._nominal_v, self._lift_m = amps, nominal_v, lift_m
        self.ready = l_h is not None
        self.blocked = self.running = False
        self._now_l_s = self._runs_a = 0.0
        self.begin(nominal_v)

    def begin(self, volts: float | None) -> None:
        """Begin a step on these volts, None for nominal: without power it does not run."""
        self.ran_s = self.used_ah = self.now_a = 0.0
        self.starts = 0
        if not self.ready:
            self.running = False
            return
        if volts is None:
            volts = self._nominal_v
        self._now_l_s = 0.0 if self.blocked else self.flow_l_s(volts)
        self._runs_a = self._amps * volts / self._nominal_v
        if volts <= 0:
            self.running = False

    def flow_l_s(self, volts: float) -> float:
        """Give what it delivers on these volts.

        A centrifugal pump's head falls with the square of its flow and rises with the square of its speed, its flow
        with the speed (affinity laws); its speed follows the volts. What a plan gives is at nominal volts and 1 m.
        """
        speed = volts / self._nominal_v
        over_m = SHUT_OFF_M * speed * speed - self._lift_m
        return self._l_s * sqrt(over_m / (SHUT_OFF_M - USUAL_LIFT_M)) if over_m > 0 else 0.0

    def wants(self, level_m: float) -> bool:
        """Ask its switch, which sees this level, whether it runs now."""
        if not self.ready or self._runs_a <= 0:
            self.running = False
        elif self.running:
            self.running = level_m > self.off_m
        elif level_m > self._on_m:
            self.running = True
            self.starts += 1
        return self.running

    def run(self, dt_s: float, over_l: float) -> float:
        """Run for a time, or until no more water stands over its lower height, and give what it moved, litres."""
        moved = min(self._now_l_s * dt_s, max(over_l, 0.0))
        ran_s = moved / self._now_l_s if self._now_l_s > 0 else dt_s
        self.ran_s += ran_s
        self.used_ah += self._runs_a * ran_s / 3600
        # It stops where the water is down to its lower height, whatever rounding makes of the level there.
        self.running = ran_s >= dt_s
        self.now_a = self._runs_a if self.running else 0.0
        return moved


def aboard_l_h(rated_l_h: float) -> float:
    """Give what a pump delivers aboard of what is printed on it: about half (common practice)."""
    return ABOARD * rated_l_h

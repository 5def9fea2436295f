"""How long, how deep and until when each liquid system lay at or below its freezing point. Pure state, no rule.

A rule keeps an `Exposures` in its state, notes each believable temperature of a system's thermometer, and asks when
something thawed: frost damage shows at the thaw, so that is when splits are looked for and the bilge is watched more
closely. The hours and the depth are kept for the launch gate and the report. It does not grow with the winter: one
entry a system.
"""

from dataclasses import dataclass, field

from monitor.rules.rule import HOUR_MS, Limit, Limits

EXPOSURE = Limits(
    Limit(
        "freeze_counts",
        1.0,
        "K h",
        "latent heat: a bare 15 mm pipe takes about 35 K h to freeze through (48 kJ a metre, 0.38 W/mK)",
        "ice in a few per cent of a small pipe, and more than a thermometer's noise about the point",
        "look at it after the thaw",
    ),
    Limit("thaw_above", 0.5, "K", "common practice, no source", "an ordinary thermometer's error", "-"),
    Limit("longest_gap", 3.0, "h", "invented", "how cold it was in a longer silence is not known: not counted", "-"),
)
_LONGEST_GAP_MS = EXPOSURE.ms("longest_gap")


@dataclass(slots=True)
class Unheard:
    """A freeze that came to our ears late, ms UTC and degC."""

    from_ms: int
    to_ms: int
    lowest_degc: float


@dataclass(slots=True)
class Exposure:
    """One system's time at or below its freezing point.

    Attributes:
        at_ms: time of the newest temperature, None before the first.
        below_k: how far below the freezing point it was then; negative above it.
        since_ms: since when it has been at or below, None while above.
        spell_k_h: depth times hours of the cold time under way, K h; it counts as a freeze from ``freeze_counts`` on.
        spell_lowest_degc: the coldest of the cold time under way.
        froze_ms: when the last freeze that counted and has thawed began.
        thawed_ms: when it thawed.
        lowest_degc: its coldest.
        hours: all hours at or below the freezing point since lay-up, h.
        degree_hours: all depth times hours since lay-up, K h.
        unheard: the last freeze that was heard of late.
    """

    at_ms: int | None = None
    below_k: float = 0.0
    since_ms: int | None = None
    spell_k_h: float = 0.0
    spell_lowest_degc: float = 0.0
    froze_ms: int | None = None
    thawed_ms: int | None = None
    lowest_degc: float = 0.0
    hours: float = 0.0
    degree_hours: float = 0.0
    unheard: Unheard | None = None

    @property
    def is_frozen(self) -> bool:
        """Whether a cold time is under way that counts as a freeze."""
        return self.since_ms is not None and self.spell_k_h >= EXPOSURE["freeze_counts"]

    def note(self, at_ms: int, degc: float, freeze_degc: float) -> None:
        """Take a temperature where the system is, in the order of its thermometer's time.

        Args:
            at_ms: event time, ms UTC; at or before the newest it is passed over.
            degc: temperature, degC.
            freeze_degc: where the system freezes, degC.
        """
        if self.at_ms is not None and at_ms <= self.at_ms:
            return
        below_k = freeze_degc - degc
        if below_k < 0.0 and self.below_k < 0.0 and self.since_ms is None:
            self.at_ms, self.below_k = at_ms, below_k  # warm, as most readings are
            return
        if self.at_ms is not None and (below_k > 0.0 or self.below_k > 0.0) and at_ms - self.at_ms <= _LONGEST_GAP_MS:
            self._count((at_ms - self.at_ms) / HOUR_MS, below_k)
        self.at_ms, self.below_k = at_ms, below_k
        if below_k >= 0.0:
            if self.since_ms is None:
                self.since_ms, self.spell_lowest_degc = at_ms, degc
            self.spell_lowest_degc = min(self.spell_lowest_degc, degc)
        elif below_k <= -EXPOSURE["thaw_above"] and self.since_ms is not None:
            if self.is_frozen:
                self.froze_ms, self.thawed_ms, self.lowest_degc = self.since_ms, at_ms, self.spell_lowest_degc
            self.since_ms, self.spell_k_h = None, 0.0

    def note_late(self, at_ms: int, degc: float, freeze_degc: float) -> None:
        """Take a temperature that came behind its time: only that it froze meanwhile, and when, is kept."""
        if degc > freeze_degc:
            return
        known = self.unheard
        if known is None:
            self.unheard = Unheard(at_ms, at_ms, degc)
        else:
            known.from_ms, known.to_ms = min(known.from_ms, at_ms), max(known.to_ms, at_ms)
            known.lowest_degc = min(known.lowest_degc, degc)

    def thawed_since(self, now_ms: int, within_ms: int) -> int | None:
        """Give when the system last thawed (ms UTC), heard or heard of late; None where that is longer ago."""
        times = (self.thawed_ms, None if self.unheard is None else self.unheard.to_ms)
        return max((t for t in times if t is not None and now_ms - t <= within_ms), default=None)

    def _count(self, hours: float, below_k: float) -> None:
        # The temperature goes in a straight line from one reading to the next: only its part below counts.
        deep, shallow = max(below_k, self.below_k), min(below_k, self.below_k)
        if shallow < 0.0:
            hours *= deep / (deep - shallow)
            shallow = 0.0
        depth = (deep + shallow) / 2.0 * hours
        self.hours += hours
        self.degree_hours += depth
        self.spell_k_h += depth


@dataclass(slots=True)
class Exposures:
    """Every system's exposure, by its id in the record."""

    systems: dict[str, Exposure] = field(default_factory=dict)

    def note(self, system: str, at_ms: int, degc: float, freeze_degc: float) -> bool:
        """Take a temperature where a system is (`Exposure.note`).

        Returns:
            Whether it has thawed with that.
        """
        exposure = self.systems.get(system) or self._of(system)
        thawed_ms = exposure.thawed_ms
        exposure.note(at_ms, degc, freeze_degc)
        return exposure.thawed_ms != thawed_ms

    def note_late(self, system: str, at_ms: int, degc: float, freeze_degc: float) -> None:
        """Take a temperature that came behind its time (`Exposure.note_late`)."""
        self._of(system).note_late(at_ms, degc, freeze_degc)

    def thawed_since(self, now_ms: int, within_ms: int) -> int | None:
        """Give when the last thaw of any system was (ms UTC), None where none lies within the time."""
        times = (exposure.thawed_since(now_ms, within_ms) for exposure in self.systems.values())
        return max((t for t in times if t is not None), default=None)

    def _of(self, system: str) -> Exposure:
        exposure = self.systems.get(system)
        if exposure is None:
            exposure = self.systems[system] = Exposure()
        return exposure

"""What comes into a bilge, each cause by itself: how fast now, for how long yet, and how much since the start."""

from enum import StrEnum
from math import inf

from simulator.openings import Opening, orifice_l_s

# Adding a drip and taking it away again may leave this much of it by rounding: a millilitre in thirty years.
NOTHING_L_S = 1e-12


class Cause(StrEnum):
    """Where water in a bilge comes from."""

    RAIN = "rain"
    GLAND = "gland"
    OPENING = "opening"
    BURST = "burst"
    CONDENSATE = "condensate"
    WASH_DOWN = "wash-down"


class Inflow:
    """All that comes into one bilge.

    Attributes:
        deck_leak_m2: the deck whose rain finds its way in.
        gland_l_s: what drips in, as through a gland.
        condensate_l_s: what a dehumidifier's hose drops into it.
        openings: openings below the waterline.
    """

    __slots__ = (
        "_burst_l",
        "_burst_l_s",
        "_burst_left_l",
        "_condensate_l",
        "_gland_l",
        "_opening_l",
        "_rain_l",
        "_rain_l_s",
        "_wash_l",
        "_wash_l_s",
        "_wash_s",
        "condensate_l_s",
        "deck_leak_m2",
        "gland_l_s",
        "openings",
    )

    def __init__(self, deck_leak_m2: float) -> None:
        self.deck_leak_m2 = deck_leak_m2
        self.gland_l_s = self.condensate_l_s = 0.0
        self.openings: list[Opening] = []
        self._rain_l_s = self._wash_l_s = self._wash_s = self._burst_l_s = self._burst_left_l = 0.0
        self._rain_l = self._gland_l = self._opening_l = self._burst_l = self._condensate_l = self._wash_l = 0.0

    def drip(self, l_s: float) -> None:
        """Have a gland drip so much, and no more."""
        self.gland_l_s = l_s if l_s > NOTHING_L_S else 0.0

    def wash_down(self, mm: float, minutes: float) -> None:
        """Wash the deck with so much water over so many minutes: it finds its way in as rain does.

        Raises:
            ValueError: for a wash-down of no length.
        """
        if minutes <= 0:
            raise ValueError(f"wash_down: {minutes} minutes; a wash-down takes more than 0")
        self._wash_s = minutes * 60
        self._wash_l_s = self.deck_leak_m2 * mm / self._wash_s

    def burst(self, l_min: float, litres: float = inf) -> None:
        """Have a split pipe run until its tank is empty; a shore main never is.

        A tank is taken to run as fast to its end; its own head is small beside its pump's.

        Args:
            l_min: how fast it runs, above 0.
            litres: what is in the tank; infinite for a shore main.

        Raises:
            ValueError: for a pipe that does not run.
        """
        if l_min <= 0:
            raise ValueError(f"burst: {l_min} litres a minute; a split pipe runs at more than 0 (end it by stop_burst)")
        self._burst_l_s = l_min / 60
        self._burst_left_l = litres

    def stop_burst(self) -> None:
        """Shut its tank or main off."""
        self._burst_l_s = self._burst_left_l = 0.0

    def rate_l_s(self, rain_mm_h: float, outside_m: float, shift_m: float, level_m: float) -> float:
        """Give what comes in now.

        Args:
            rain_mm_h: rain on deck.
            outside_m: the water outside, above the level sensor's zero, as she floats.
            shift_m: by how much tide or trim has moved it.
            level_m: the water inside.
        """
        self._rain_l_s = rain_l_s = self.deck_leak_m2 * rain_mm_h / 3600
        rate = rain_l_s + self.gland_l_s + self.condensate_l_s
        if self._wash_s > 0:
            rate += self._wash_l_s
        if self._burst_left_l > 0:
            rate += self._burst_l_s
        for opening in self.openings:
            # The head stands from the water outside down to the opening or the water inside, whichever is higher.
            head_m = outside_m + (shift_m if opening.shifts else 0.0) - max(opening.at_m, level_m)
            opening.now_l_s = orifice_l_s(opening.area_m2, head_m) if opening.area_m2 else 0.0
            rate += opening.now_l_s
        return rate

    def take(self, dt_s: float) -> float:
        """Let that rate run for a time, at most till wash-down or tank end, and give what came in, litres."""
        entered = rain = self._rain_l_s * dt_s
        self._rain_l += rain
        if self.gland_l_s:
            gland = self.gland_l_s * dt_s
            self._gland_l += gland
            entered += gland
        if self.condensate_l_s:
            condensate = self.condensate_l_s * dt_s
            self._condensate_l += condensate
            entered += condensate
        for opening in self.openings:
            through = opening.now_l_s * dt_s
            opening.entered_l += through
            self._opening_l += through
            entered += through
        if self._wash_s > 0:
            washed_s = min(self._wash_s, dt_s)
            wash = self._wash_l_s * washed_s
            self._wash_s -= washed_s
            self._wash_l += wash
            entered += wash
        if self._burst_left_l > 0:
            ran = min(self._burst_l_s * dt_s, self._burst_left_l)
            self._burst_left_l -= ran
            self._burst_l += ran
            entered += ran
        return entered

    def entered_by_l(self) -> dict[Cause, float]:
        """Give what has come in since the start, by cause."""
        return {
            Cause.RAIN: self._rain_l,
            Cause.GLAND: self._gland_l,
            Cause.OPENING: self._opening_l,
            Cause.BURST: self._burst_l,
            Cause.CONDENSATE: self._condensate_l,
            Cause.WASH_DOWN: self._wash_l,
        }

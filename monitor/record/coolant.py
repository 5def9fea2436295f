"""Sums beside the coolant entry: how cold a mixture stands, what water left in it does, how much to replace or mix.

Every figure is rounded to the side that does no harm: protection to the warmer whole degree, strength down, what is to
be poured up. What the published tables do not cover is refused in words; nothing is reckoned past them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from monitor.model.equipment import Liquid, SystemKind, Tester
from monitor.record.coolant_limits import LIMITS
from monitor.record.coolant_refused import (
    CoolantRefusedError,
    amount,
    below_nought,
    colder,
    share,
    strong_enough,
    too_strong,
)
from monitor.rules.frost_point import TESTER_ERROR_K
from monitor.science.blending import (
    coldest_protected_degc,
    diluted_volume_pct,
    drain_and_replace_l,
    volume_pct_to_protect,
    weakest_volume_pct,
)
from monitor.science.freezing import (
    MAX_MASS_PCT,
    FreezingPoint,
    Glycol,
    freezing_point_from_mass_pct,
    freezing_point_from_volume_pct,
    mass_pct_from_volume_pct,
    max_volume_pct,
    volume_pct_from_mass_pct,
)

Strength = Callable[[float], float]
_HAIR = 1e-9  # what halving and floating point leave: less than any figure is shown to
_GLYCOLS = {Liquid.ETHYLENE_GLYCOL: Glycol.ETHYLENE, Liquid.PROPYLENE_GLYCOL: Glycol.PROPYLENE}


@dataclass(frozen=True, slots=True)
class Mixture:
    """Glycol and water of one strength, within the tables."""

    glycol: Glycol
    volume_pct: float

    @property
    def mass_pct(self) -> float:
        """The same strength by mass."""
        return mass_pct_from_volume_pct(self.glycol, self.volume_pct)

    @property
    def point(self) -> FreezingPoint:
        """Where it begins to freeze, and how far the sources disagree."""
        return freezing_point_from_volume_pct(self.glycol, self.volume_pct)

    @property
    def protected_degc(self) -> int:
        """To how cold it flows by both sources, to the warmer whole degree."""
        return ceil(sum(self.point) - _HAIR)


@dataclass(frozen=True, slots=True)
class Tested:
    """What stands behind a tested freezing point.

    Attributes:
        glycol: which glycol.
        error_k: the tester's error, K.
        count_on_degc: the tested point less that error, to the warmer whole degree.
        weakest_pct: the weakest that fits the test and either source, volume %.
        strongest_pct: the strongest; None where it lies past the tables.
    """

    glycol: Glycol
    error_k: float
    count_on_degc: int
    weakest_pct: float
    strongest_pct: float | None


@dataclass(frozen=True, slots=True)
class Poured:
    """What to pour, and what comes of it.

    Attributes:
        needed_pct: the weakest mixture that protects as wanted by both sources, volume %.
        litres: how much of what is poured; to be drained first where something is in.
        water_l: how much water beside it.
        after: what stands in the system then.
    """

    needed_pct: float
    litres: float
    water_l: float
    after: Mixture


def glycol_of(liquid: Liquid | None, kind: SystemKind | None = None) -> Glycol:
    """Say which glycol a system takes by its record; where drinking water runs, and where nothing says, propylene."""
    if kind is SystemKind.CLOSED_COOLING:
        return _GLYCOLS.get(liquid or Liquid.ETHYLENE_GLYCOL, Glycol.ETHYLENE)
    return Glycol.PROPYLENE if liquid is None else _GLYCOLS.get(liquid, Glycol.PROPYLENE)


def mixture(glycol: Glycol, percent: float, *, by_mass: bool = False, key: str = "strength") -> Mixture:
    """Give the mixture of a strength.

    Raises:
        CoolantRefusedError: where it is no share of a whole, or stronger than the tables.
    """
    most = MAX_MASS_PCT if by_mass else max_volume_pct(glycol)
    share(percent, key)
    if percent > most + _HAIR:
        raise CoolantRefusedError(key, too_strong(glycol))
    return Mixture(glycol, volume_pct_from_mass_pct(glycol, percent) if by_mass else min(percent, most))


def behind_test(glycol: Glycol, tested_degc: float, tester: Tester, *, key: str = "tested") -> Tested:
    """Go from a tested freezing point back to the strengths that may stand behind it.

    Raises:
        CoolantRefusedError: above 0 degC, or colder than the tables.
    """
    below_nought(tested_degc, key)
    error_k = TESTER_ERROR_K[tester]
    warm = min(tested_degc + error_k, 0.0)
    point = freezing_point_from_mass_pct(glycol, MAX_MASS_PCT)
    coldest = point.t_degc - point.uncertainty_k
    if warm < coldest:
        raise CoolantRefusedError(key, f"{colder(coldest)} Look at the tester's scale: it must be that of {glycol}.")
    cold = tested_degc - error_k
    strongest = volume_pct_to_protect(glycol, cold) if cold >= coldest_protected_degc(glycol) else None
    return Tested(glycol, error_k, ceil(warm - _HAIR), weakest_volume_pct(glycol, warm), strongest)


def thinned(glycol: Glycol, poured_pct: float, poured_l: float, left_l: float) -> Mixture:
    """Give what a poured mixture becomes with the water that stayed behind.

    Raises:
        CoolantRefusedError: where a figure is none of its kind, or the blend is stronger than the tables.
    """
    share(poured_pct, "poured")
    amount(poured_l, "poured_l")
    if left_l:
        amount(left_l, "left_l")
    blend = diluted_volume_pct(poured_pct, poured_l, left_l)
    return mixture(glycol, blend, key="poured")


def to_replace(glycol: Glycol, system_l: float, now_pct: float, wanted_degc: float, fill_pct: float) -> Poured:
    """Find how much of a full system to drain and to replace so that it protects as wanted.

    Raises:
        CoolantRefusedError: where a figure is none of its kind, or what is poured is too weak for it.
    """
    present = mixture(glycol, now_pct, key="now")
    amount(system_l, "system_l")
    needed = needed_pct(glycol, wanted_degc)
    if now_pct >= needed:
        return Poured(needed, 0.0, 0.0, present)
    strong_enough(fill_pct, needed, wanted_degc)
    exact = drain_and_replace_l(system_l, now_pct, needed, fill_pct)

    def after(litres: float) -> float:
        return now_pct + (fill_pct - now_pct) * litres / system_l

    litres = _up(exact, system_l, after, glycol)
    return Poured(needed, litres, 0.0, Mixture(glycol, min(after(litres), max_volume_pct(glycol))))


def to_mix(glycol: Glycol, total_l: float, wanted_degc: float, fill_pct: float) -> Poured:
    """Find how much glycol and how much water make so many litres that protect as wanted.

    Raises:
        CoolantRefusedError: where a figure is none of its kind, or what is poured is too weak for it.
    """
    amount(total_l, "system_l")
    needed = needed_pct(glycol, wanted_degc)
    strong_enough(fill_pct, needed, wanted_degc)

    def after(litres: float) -> float:
        return fill_pct * litres / total_l

    litres = _up(total_l * needed / fill_pct, total_l, after, glycol)
    return Poured(needed, litres, total_l - litres, Mixture(glycol, min(after(litres), max_volume_pct(glycol))))


def needed_pct(glycol: Glycol, wanted_degc: float, *, key: str = "wanted") -> float:
    """Find the weakest mixture that protects as wanted by both sources, volume %.

    Raises:
        CoolantRefusedError: above 0 degC, or colder than any mixture is sure of.
    """
    below_nought(wanted_degc, key)
    coldest = coldest_protected_degc(glycol)
    if wanted_degc < coldest:
        raise CoolantRefusedError(key, f"{colder(coldest)} Drain it instead, or keep it warm.")
    return volume_pct_to_protect(glycol, wanted_degc)


def _up(exact: float, most: float, after: Strength, glycol: Glycol) -> float:
    # To the next tenth of a litre; finer where that much more would make it stronger than the tables.
    for step in (LIMITS["pour_step"], LIMITS["fine_step"]):
        litres = min(ceil(exact / step - _HAIR) * step, most)
        if after(litres) <= max_volume_pct(glycol):
            return litres
    return exact

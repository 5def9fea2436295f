"""What charges a bank, a charger or an alternator: it feeds the loads first, and what is left fills it."""

from math import expm1


def taken_ah(missing_ah: float, spare_ah: float, dt_s: float, fills_s: float) -> float:
    """Give what a bank takes in a time: its acceptance falls off as it fills, and there is no more than is spare.

    Args:
        missing_ah: what it lacks to be full.
        spare_ah: what its supply has to spare in the time.
        dt_s: the time.
        fills_s: time constant of its acceptance.

    >>> taken_ah(40.0, 2.5, 3600, 4 * 3600)  # 2.5 A to spare for an hour, and 8.8 Ah would be taken
    2.5
    """
    return min(max(missing_ah, 0.0) * -expm1(-dt_s / fills_s), max(spare_ah, 0.0))

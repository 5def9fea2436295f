"""Straight lines between the rows of a published table."""

from bisect import bisect_right
from collections.abc import Sequence


def interpolate(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Read a table between its rows by straight lines, which stay monotone and turn back exactly.

    Args:
        x: where to read; the caller has checked that it lies in ``xs[0]`` to ``xs[-1]``, and ends are held beyond them.
        xs: strictly rising arguments, two at least.
        ys: as many values.

    Returns:
        y = y0 + (y1 - y0) (x - x0) / (x1 - x0) in the row's unit.

    >>> interpolate(2.5, (0.0, 5.0), (10.0, 20.0))
    15.0
    """
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = bisect_right(xs, x)
    x0, y0 = xs[i - 1], ys[i - 1]
    return y0 + (ys[i] - y0) * (x - x0) / (xs[i] - x0)

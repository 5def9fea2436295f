"""How the coolant sums write their figures: each rounded to the side that does no harm."""

from math import ceil

_HAIR = 1e-9
MINUS = "\N{MINUS SIGN}"


def degc_words(degc: float) -> str:
    """Write a temperature as it is.

    >>> degc_words(-13)
    '\N{MINUS SIGN}13 °C'
    """
    return f"{degc:g} °C".replace("-", MINUS)


def tenth_degc(degc: float) -> str:
    """Write a temperature to the nearest tenth."""
    return degc_words(round(degc, 1) + 0.0)


def at_least(percent: float) -> str:
    """Write a strength that is there: to the tenth below."""
    return f"{int(percent * 10.0 + _HAIR) / 10.0:.1f} %"


def at_most(percent: float) -> str:
    """Write a strength that is needed: to the tenth above."""
    return f"{ceil(percent * 10.0 - _HAIR) / 10.0:.1f} %"


def litres_words(litres: float) -> str:
    """Write an amount.

    >>> litres_words(2.6000000000000001), litres_words(1.0), litres_words(0.25)
    ('2.6 L', '1 L', '0.25 L')
    """
    return f"{round(litres, 2):g} L"


def degrees(kelvin: float) -> str:
    """Write a difference of temperatures so that nobody takes it for a temperature."""
    return f"{kelvin:.3g} {'degree' if kelvin == 1.0 else 'degrees'}"

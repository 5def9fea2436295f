"""The domain of a formula: one place that refuses a value its source does not cover."""


def within(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Give back a value that lies in the closed range a formula is valid for.

    Args:
        name: what the value is, as the caller knows it.
        value: the value; not-a-number is refused like any other value outside.
        low: lowest value covered.
        high: highest value covered.
        unit: unit of all three, for the message.

    Returns:
        The value, unchanged.

    Raises:
        ValueError: outside the range, naming value, range and unit.

    >>> within("salinity", 35.0, 0.0, 40.0, "g/kg")
    35.0
    >>> within("salinity", 41.0, 0.0, 40.0, "g/kg")
    Traceback (most recent call last):
    ValueError: salinity is 41 g/kg, outside 0 to 40 g/kg
    """
    if low <= value <= high:
        return value
    raise ValueError(f"{name} is {value:.6g} {unit}, outside {low:.6g} to {high:.6g} {unit}")

"""Which of several alerts is looked at first: one order for pages, letters and whoever is rung."""

from monitor.model.scale import Priority

SILENCE = "silence"
"""Name of the rule that says what is not heard."""

_NEVER = float("inf")


def pressing(priority: Priority, *, water: bool, silence: bool, harm: float | None) -> tuple[int, bool, bool, float]:
    """Give what alerts are sorted by, the most pressing first.

    The highest priority leads. Within a priority water leads, since it neither waits nor stops by itself; then what
    harms soonest; what is merely not heard comes last, however long it has been so. What this leaves equal is the
    caller's to order.

    Args:
        priority: the priority in force.
        water: whether it is water at a float or a high mark (`Finding.always_told`).
        silence: whether the `SILENCE` rule found it.
        harm: when harm begins or how long until then, in any one unit; None where it cannot be said.

    >>> flood = pressing(Priority.ALARM, water=True, silence=False, harm=None)
    >>> frost = pressing(Priority.ALARM, water=False, silence=False, harm=3600.0)
    >>> fire = pressing(Priority.ALARM, water=False, silence=False, harm=None)
    >>> not_heard = pressing(Priority.ALARM, water=False, silence=True, harm=60.0)
    >>> soon = pressing(Priority.WARNING, water=True, silence=False, harm=0.0)
    >>> sorted([soon, not_heard, fire, frost, flood]) == [flood, frost, fire, not_heard, soon]
    True
    """
    return -priority, silence, not water, _NEVER if harm is None else harm

"""How finely coolant is poured, and how much of it any boat holds."""

from monitor.model.limits import Limit, Limits

_OURS = "common practice, no source"

LIMITS = Limits(
    Limit("pour_step", 0.1, "L", _OURS, "a measuring jug reads no finer", "pour up to the next mark"),
    Limit("fine_step", 0.01, "L", "invented", "a small system, which a tenth would make too strong", "use a syringe"),
    Limit("least", 0.1, "L", "invented", "less is no system, but a slip of the pen", "write litres"),
    Limit("most", 10_000.0, "L", "invented", "no boat in a yard holds more: the unit is wrong", "write litres"),
)

"""How soon somebody must act on a thing that can freeze: what is measured now, and what is foretold with its range.

A visit is asked for on the low estimate up to the end of the next working day, because nobody comes before that who is
not called; that it is time to act at once goes by the best estimate of the coming hours.
"""

from monitor.model.scale import Priority
from monitor.rules.frost_ahead import Low
from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_things import Freezable
from monitor.rules.rule import held_step

_CAUTION, _WARNING = LIMITS["margin_caution"], LIMITS["margin_warning"]
_WET = LIMITS["wet_alarm"]


def is_wet(thing: Freezable) -> bool:
    """Whether it holds, or may hold, water that nobody protected."""
    return thing.how in {"wet", "not proven"}


def error_k(thing: Freezable) -> float:
    """Give the error of its freezing point and its thermometer together, K."""
    return thing.error_k + thing.sensor_error_k


def asks_k(thing: Freezable) -> float:
    """Give how far above its freezing point a foretold low asks for a visit, K."""
    return _WET if is_wet(thing) else error_k(thing) + _WARNING


def grade(
    thing: Freezable, freeze_degc: float, now_degc: float, near: Low, visit: Low, held: Priority | None
) -> Priority | None:
    """Grade one thing.

    Args:
        thing: what can freeze.
        freeze_degc: where it freezes.
        now_degc: what is measured there now.
        near: the coldest of the coming hours.
        visit: the coldest up to the end of the next working day.
        held: the priority held so far, which is kept until a figure has risen a deadband past its step.

    Returns:
        The priority, None where nothing needs doing. More cold anywhere never lowers it.
    """
    deadband = LIMITS["foretold_deadband"]
    if is_wet(thing):
        urgent = Priority.ALARM if thing.how == "wet" else Priority.WARNING
        foretold = [(_WET, Priority.WARNING), (_CAUTION, Priority.CAUTION)]
        grades = [
            held_step(near.degc - freeze_degc, [(_WET, urgent)], held, deadband),
            held_step(visit.low_degc - freeze_degc, foretold, held, deadband),
        ]
    else:
        error = error_k(thing)
        at_the_point = -error
        point = freeze_degc + error
        measured = [(_CAUTION, Priority.CAUTION), (_WARNING, Priority.WARNING), (at_the_point, Priority.ALARM)]
        grades = [
            held_step(now_degc - point, measured, held, LIMITS["margin_deadband"]),
            held_step(near.degc - point, [(at_the_point, Priority.ALARM)], held, deadband),
            held_step(visit.low_degc - point, [(_WARNING, Priority.WARNING)], held, deadband),
            held_step(visit.degc - point, [(_CAUTION, Priority.CAUTION)], held, deadband),
        ]
    return max((g for g in grades if g is not None), default=None)


def is_out_of_reach(thing: Freezable, freeze_degc: float, floor_degc: float) -> bool:
    """Whether a thing stays clear of every step even at a temperature that its place cannot fall below."""
    clear_k = _CAUTION + LIMITS["foretold_deadband"]
    return floor_degc - freeze_degc - (0.0 if is_wet(thing) else error_k(thing)) > clear_k

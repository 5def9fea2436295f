"""How soon somebody must act on a thing that can freeze: what is measured now, and what is foretold with its range.

A visit is asked for on the low estimate up to the end of the next working day, because nobody comes before that who is
not called; that it is time to act at once goes by the best estimate of the coming hours.
"""

from monitor.model.scale import Priority
from monitor.rules.frost_ahead import Low
from monitor.rules.frost_guard import ANY, Room
from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_things import Freezable
from monitor.rules.rule import held_step

_CAUTION, _WARNING = LIMITS["margin_caution"], LIMITS["margin_warning"]
_WET = LIMITS["wet_alarm"]
WET_VISIT_K = LIMITS["wet_visit"]
_DEADBAND, _MEASURED_DEADBAND = LIMITS["foretold_deadband"], LIMITS["margin_deadband"]


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
    grades = [
        held_step(figure, [(limit, priority)], held, deadband)
        for figure, limit, priority, deadband in _steps(thing, freeze_degc, now_degc, near, visit)
    ]
    return max((g for g in grades if g is not None), default=None)


def room_of(
    thing: Freezable, freeze_degc: float, now_degc: float, near: Low, visit: Low, held: Priority | None
) -> Room:
    """Give how much colder and how much warmer it may get, now and as foretold, before its grade changes.

    Args:
        thing: as for `grade`.
        freeze_degc: as for `grade`.
        now_degc: as for `grade`.
        near: as for `grade`.
        visit: as for `grade`.
        held: what `grade` gave for them.
    """
    colder_k, warmer_k = ANY, 0.0
    for figure, limit, priority, deadband in _steps(thing, freeze_degc, now_degc, near, visit):
        if held is None or priority > held:
            colder_k = min(colder_k, figure - limit)
        elif priority == held:
            warmer_k = max(warmer_k, limit + deadband - figure)
    return Room(colder_k, ANY if held is None else warmer_k)


def _steps(
    thing: Freezable, freeze_degc: float, now_degc: float, near: Low, visit: Low
) -> list[tuple[float, float, Priority, float]]:
    """Give every step that it is held against: figure, limit and priority of a figure below it, and deadband."""
    if is_wet(thing):
        visit_k = visit.low_degc - freeze_degc
        urgent = Priority.ALARM if thing.how == "wet" else Priority.WARNING
        return [
            (near.degc - freeze_degc, _WET, urgent, _DEADBAND),
            (visit_k, WET_VISIT_K, Priority.WARNING, _DEADBAND),
            (visit_k, _CAUTION, Priority.CAUTION, _DEADBAND),
        ]
    error = error_k(thing)
    point = freeze_degc + error
    now_k = now_degc - point
    return [
        (now_k, _CAUTION, Priority.CAUTION, _MEASURED_DEADBAND),
        (now_k, _WARNING, Priority.WARNING, _MEASURED_DEADBAND),
        (now_k, -error, Priority.ALARM, _MEASURED_DEADBAND),
        (near.degc - point, -error, Priority.ALARM, _DEADBAND),
        (visit.low_degc - point, _WARNING, Priority.WARNING, _DEADBAND),
        (visit.degc - point, _CAUTION, Priority.CAUTION, _DEADBAND),
    ]


def clear_degc(thing: Freezable, freeze_degc: float) -> float:
    """Give the temperature above which a thing stays clear of every step, degC."""
    return freeze_degc + (0.0 if is_wet(thing) else error_k(thing)) + _CAUTION + _DEADBAND

"""The form of a visit: what was typed, made into a visit, with what was wrong where."""

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.datastructures import FormData

from monitor.model.visit import Found, Read
from monitor.record.round import Stop
from monitor.web.clock import YardClock
from monitor.web.problems import Mistake
from monitor.web.round_words import MM_PER_M, said, say, taking_name
from monitor.web.visit_in import AlertSeen, ReadingIn, VisitIn, mistakes_in

AS_TOLD, NOTHING = "as-told", "nothing"
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the form's fields, by their names; kept as typed when something in it is wrong."""

    one: dict[str, str]
    checked: frozenset[str] = frozenset()

    @classmethod
    def of(cls, form: FormData) -> "Typed":
        """Take the fields of a form that was sent."""
        texts = [(key, value.strip()) for key, value in form.multi_items() if isinstance(value, str)]
        return cls({k: v for k, v in texts if k != "checked"}, frozenset(v for k, v in texts if k == "checked"))

    def get(self, name: str) -> str:
        """Give what stands in a field."""
        return self.one.get(name, "")


@dataclass(frozen=True, slots=True)
class Filled:
    """A form that was sent: the visit it makes, None where it cannot be read as one; and every mistake then."""

    visit: VisitIn | None
    mistakes: tuple[Mistake, ...]


def fill(typed: Typed, stop: Stop, clock: YardClock) -> Filled:
    """Make a visit of what was typed. What can be read is held against how she stands only once it is taken in."""
    readings, mistakes = _readings(typed, stop)
    found = next((f for f in Found if f.value == typed.get("found")), None)
    made = VisitIn(
        name=" ".join(typed.get("name").split())[:80],
        found=Found.WELL if found is None else found,
        checked=sorted(typed.checked),
        readings=readings,
        alerts=list(_alerts(typed)),
        note=typed.get("note")[:500],
    )
    if found is None:
        mistakes.append(Mistake(key="found", reason=said("mistakes", "no_found")))
    if not mistakes:
        return Filled(made, ())
    return Filled(None, (*mistakes, *mistakes_in(made, stop, clock, has_found=found is not None)))


def number(typed: str, unit: str = "") -> float | None:
    """Read a number with a decimal point or comma, with or without its unit; None where it is none.

    >>> number("12,41"), number("12.41 V", "V"), number("1.234,5")
    (12.41, 12.41, None)
    """
    text = typed.strip().removesuffix(unit).strip().replace(MINUS, "-")
    digits = text.removeprefix("-").replace(",", ".")
    if not (digits.isascii() and digits.replace(".", "", 1).isdigit()):
        return None
    return float(text.replace(",", "."))


def _readings(typed: Typed, stop: Stop) -> tuple[list[ReadingIn], list[Mistake]]:
    readings, mistakes = [], []
    for taking in stop.takings:
        key = f"readings.{taking.what}.{taking.subject}"
        text = typed.get(key)
        if not text:
            continue
        value = number(text, said("takings", taking.what.value, "unit"))
        if value is None:
            reason = say("mistakes", "not_a_number", name=taking_name(taking), typed=text[:40])
            mistakes.append(Mistake(key=key, reason=reason))
            continue
        metres = taking.what is Read.DIP
        readings.append(
            ReadingIn(what=taking.what, subject=taking.subject, value=value / MM_PER_M if metres else value)
        )
    return readings, mistakes


def _alerts(typed: Typed) -> Iterable[AlertSeen]:
    for key, value in typed.one.items():
        if key.startswith("alerts.") and value in {AS_TOLD, NOTHING}:
            yield AlertSeen(alert=key.removeprefix("alerts."), nothing_wrong=value == NOTHING)

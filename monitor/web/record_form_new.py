"""The form of a new boat: the least that makes one. She begins in the mode *laying up*."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from monitor.model.vessel import RESERVED_IDS, Mode, Person, Vessel
from monitor.web.form_fields import FormField, Takes, fields_of, words
from monitor.web.form_ids import id_from
from monitor.web.form_mistakes import by_field
from monitor.web.form_parts import BOAT, NEW
from monitor.web.form_read import read, wrong_words

ASHORE, AFLOAT = "ashore", "afloat"
_LATER = frozenset({"visit_every_days", "outside_sensor", "engineer"})
"""What her record asks of herself, and the form of a new boat does not; the engineer is whoever signed in."""


@dataclass(frozen=True, slots=True)
class NewBoat:
    """What came of the form: the boat, None where something is wrong; what was typed, with an id made of her name."""

    vessel: Vessel | None
    texts: dict[str, str]
    wrong: dict[str, str] = field(default_factory=dict)


def new_fields() -> tuple[FormField, ...]:
    """Give the fields of the form, in their order."""
    told = words("new", "fields")
    name, *others = (one for one in fields_of(BOAT) if one.name not in _LATER)
    lies = FormField("lies", Takes.CHOICE, told["lies"], required=True, choices=_pairs(told["lies"]["choices"]))
    more = [FormField(n, Takes.TEXT, told[n], required=False) for n in ("id", "owner_name", "owner_email")]
    before = [replace(one, required=True) for one in others if one.name in {"engine", "rig"}]
    after = [one for one in others if one.name in {"plot", "berth", "laid_up"}]
    return (name, more[0], *before, lies, *after, *more[1:])


def make_boat(texts: Mapping[str, str], yard: str, engineer: str, zone: ZoneInfo) -> NewBoat:
    """Make a boat of what was typed."""
    typed = dict(texts)
    if not typed.get("id", "").strip():
        typed["id"] = id_from(typed.get("name", ""))
    fields = new_fields()
    found = read(fields, typed, zone)
    wrong = found.wrong | _place_wrong(typed)
    if "name" not in wrong:  # without a name there is none to make an id of
        wrong |= _id_wrong(str(found.values.get("id") or ""))
    if typed.get("owner_email", "").strip() and not typed.get("owner_name", "").strip():
        wrong["owner_name"] = wrong_words("owner")
    values = {name: value for name, value in found.values.items() if name in Vessel.model_fields}
    owner_name = found.values.get("owner_name") or found.values.get("owner_email")  # a wrong address is told as well
    values["plot" if typed.get("lies") == AFLOAT else "berth"] = None
    owner = None
    if owner_name:
        try:
            owner = Person.model_validate({"name": owner_name, "email": found.values.get("owner_email")})
        except ValidationError as error:
            inner = by_field(error, [FormField(n, Takes.TEXT, {"label": n}, required=False) for n in ("name", "email")])
            wrong |= {f"owner_{key}": reason for key, reason in inner.items()}
    if wrong:
        return NewBoat(None, typed, wrong)
    try:
        made = Vessel.model_validate(
            {**values, "yard": yard, "mode": Mode.LAYING_UP, "engineer": engineer, "owner": owner}
        )
    except ValidationError as error:
        return NewBoat(None, typed, by_field(error, fields))
    return NewBoat(made, typed)


def _place_wrong(typed: Mapping[str, str]) -> dict[str, str]:
    place = {ASHORE: "plot", AFLOAT: "berth"}.get(typed.get("lies", ""))
    return {place: wrong_words(place)} if place and not typed.get(place, "").strip() else {}


def _id_wrong(made: str) -> dict[str, str]:
    if not made:
        return {"id": wrong_words("needed")}
    return {"id": wrong_words("reserved", typed=made)} if made in RESERVED_IDS | {NEW} else {}


def _pairs(choices: list[list[str]]) -> tuple[tuple[str, str], ...]:
    return tuple((value, text) for value, text in choices)

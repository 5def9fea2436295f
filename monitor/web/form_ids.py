"""Ids made of names, where nobody wrote one."""

import re
import unicodedata
from collections.abc import Collection, Mapping
from itertools import count

from monitor.model.vessel import Vessel
from monitor.web.form_parts import SENSORS, TAKEN_WORDS, Part

LONGEST = 48
_SHORT = {"float_switch": "float", "temperature": "temp", "voltage": "volts", "humidity": "humidity"}


def id_from(name: str, taken: Collection[str] = ()) -> str:
    """Make an id of a name: small letters, digits and dashes, another number where it is taken.

    >>> id_from("Amber Lark II"), id_from("Sj\u00f6fr\u00f6ken"), id_from("Heads", {"heads"}), id_from("+++")
    ('amber-lark-ii', 'sjofroken', 'heads-2', '')
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    made = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST].strip("-")
    if not made or made not in taken:
        return made
    return next(tried for n in count(2) if (tried := f"{made[: LONGEST - 4]}-{n}") not in taken)


def with_id(record: Vessel, part: Part, texts: Mapping[str, str]) -> dict[str, str]:
    """Give what was typed for a new entry, with an id made of its name where none was typed."""
    if part.key != "id" or texts.get("id", "").strip():
        return dict(texts)
    if part is SENSORS:
        quantity, place = texts.get("quantity", ""), texts.get("place", "").partition(",")[0]
        what = _SHORT.get(quantity, quantity)
        says_it = place.casefold().split()[-1:] == [what]  # "main bilge float" is enough for a float switch
        name = place if says_it or not place.strip() else f"{place} {what}"
        taken = {sensor.id for sensor in record.sensors}
    else:
        name = texts.get("name", "")
        taken = _subjects(record) | {seacock.id for seacock in record.seacocks}
    return {**texts, "id": id_from(name, taken | TAKEN_WORDS)}


def _subjects(record: Vessel) -> set[str]:
    held = [{thing.id for thing in record.liquid_systems}, {thing.id for thing in record.batteries}]
    held += [{thing.id for thing in record.bilges}, {thing.id for thing in record.spaces}]
    return set().union(*held, {thing.id for thing in record.safety_kit})

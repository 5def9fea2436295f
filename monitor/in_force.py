"""Says the settings as they are in force: which value, and whether the file, the environment or nobody gave it."""

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time
from enum import Enum
from pathlib import Path
from typing import Any

from pydantic import BaseModel, SecretStr

from monitor.intake.sources import Source
from monitor.model.in_force import InForce, Origin, Setting
from monitor.model.people import Channel, ChannelKind, YardPerson
from monitor.model.shown_address import shown_address
from monitor.model.surroundings import PlannedCut
from monitor.model.vessel import Person
from monitor.settings import ENVIRONMENT, Settings

NOT_SET = "not set"
DAY_S = 86_400
UNITS = {"_s": "seconds", "_min": "minutes", "_h": "hours", "_days": "days"}
_OF_THEIR_OWN = frozenset({"people", "rota"})
_MAY_HOLD_SECRETS = frozenset({("history", "url"), ("history", "read_url")})


@dataclass(frozen=True, slots=True)
class _Given:
    """What was given: in the environment, as names in capitals, and in the file, as it is written there."""

    environment: frozenset[str]
    file: Mapping[str, object]

    def origin(self, table: str, key: str) -> Origin:
        """Say where a key comes from; an empty one stands for its table."""
        parts = [*table.split("."), *([key] if key else [])]
        names = {ENVIRONMENT + "__".join(parts[:count]).upper() for count in range(1, len(parts) + 1)}
        if not names.isdisjoint(self.environment):
            return Origin.ENVIRONMENT
        found: object = self.file
        for part in parts:
            found = found.get(part) if isinstance(found, Mapping) else None
        return Origin.DEFAULT if found is None else Origin.FILE


def in_force(settings: Settings, file: Path | None, environment: Mapping[str, str]) -> InForce:
    """Give the settings as a page may show them.

    Args:
        settings: what the agent runs by.
        file: the file they were read from, None where there was none: then what is not as it comes was given otherwise.
        environment: the environment it was started in.

    Raises:
        OSError: where the file cannot be read any more.
    """
    names = frozenset(name.upper() for name in environment if name.upper().startswith(ENVIRONMENT))
    written = settings.model_dump(exclude_defaults=True) if file is None else tomllib.loads(file.read_text("utf-8"))
    given = _Given(names, written)
    rows: list[Setting] = []
    for table in type(settings).model_fields:
        if table not in _OF_THEIR_OWN:
            rows += _table(table, getattr(settings, table), given)
    people = tuple(_without_secrets(person) for person in settings.people)
    return InForce("" if file is None else str(file.absolute()), tuple(rows), people, settings.rota)


def _table(table: str, found: object, given: _Given) -> Iterator[Setting]:
    if not isinstance(found, BaseModel):
        yield Setting(table, "", _words(table, "", found), given.origin(table, ""))
        return
    for key in type(found).model_fields:
        value = getattr(found, key)
        if isinstance(value, BaseModel):
            yield from _table(f"{table}.{key}", value, given)
        else:
            yield Setting(table, key, _words(table, key, value), given.origin(table, key))


def _words(table: str, key: str, value: object) -> str:
    if isinstance(value, SecretStr):
        return "set, not shown" if value.get_secret_value() else NOT_SET
    if value is None or value in ("", ()):
        return NOT_SET
    if (table, key) in _MAY_HOLD_SECRETS:
        return shown_address(ChannelKind.WEBHOOK, str(value))
    if isinstance(value, tuple):
        return ("; " if isinstance(value[0], Source) else ", ").join(_item(one) for one in value)
    unit = next((words for end, words in UNITS.items() if key.endswith(end)), "")
    return f"{_item(value)} {unit}{_in_days(value, unit)}".strip()


def _in_days(value: object, unit: str) -> str:
    """Give whole days of many seconds, which nobody reads off."""
    days, rest = divmod(value, DAY_S) if isinstance(value, int) and unit == UNITS["_s"] else (0, 0)
    return f" ({days} days)" if days > 1 and not rest else ""


def _item(value: object) -> str:
    """Give one value in words, whatever it is."""
    for kind, words in _BY_KIND:
        if isinstance(value, kind):
            return words(value)
    return str(value)


_BY_KIND: tuple[tuple[type, Callable[[Any], str]], ...] = (
    (bool, lambda yes: "yes" if yes else "no"),
    (time, lambda at: f"{at:%H:%M}"),
    (date, date.isoformat),
    (Enum, lambda one: str(one.value)),
    (float, lambda number: f"{number:g}"),
    (Person, lambda person: f"{person.name} ({person.email or 'no address'})"),
    (PlannedCut, lambda cut: f"{cut.begins:%Y-%m-%d %H:%M %Z} to {cut.ends:%Y-%m-%d %H:%M %Z}"),
    (Source, lambda row: f"{row.topic} {row.pointer}".strip() + f": sensor {row.sensor} of {row.vessel}"),
)


def _without_secrets(person: YardPerson) -> YardPerson:
    shown = tuple(
        Channel(kind=one.kind, address=shown_address(one.kind, one.address), rings=one.rings) for one in person.channels
    )
    return person.model_copy(update={"channels": shown})

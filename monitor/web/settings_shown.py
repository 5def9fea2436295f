"""The settings in force, table by table in plain words; people, rota and channels as tables of their own."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.messages.phrases import FALLBACK_LANGUAGE, raw_words
from monitor.model.in_force import InForce, Origin, Setting
from monitor.model.people import ChannelKind, Duty, QuietHours, YardPerson
from monitor.model.roster import channels
from monitor.model.shown_address import shown_address
from monitor.web.clock import YardClock
from monitor.web.deps import Deps

WHENCE = {Origin.FILE: "settings file", Origin.ENVIRONMENT: "environment", Origin.DEFAULT: "as it comes"}
WITHOUT_A_FILE = {**WHENCE, Origin.FILE: "how it was started"}
WAYS = {
    ChannelKind.EMAIL: "E-mail",
    ChannelKind.WEBHOOK: "Webhook",
    ChannelKind.SERVICE: "Phone or message service",
}


@dataclass(frozen=True, slots=True)
class Row:
    """A setting in words: what it is, its key as in the file, its value, where it comes from."""

    words: str
    key: str
    value: str
    whence: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the settings in words; ``unset`` says what its absence means."""

    name: str
    about: str
    rows: tuple[Row, ...]
    unset: str


@dataclass(frozen=True, slots=True)
class PersonShown:
    """Somebody of the yard: what they are, how they are reached, when they are left alone."""

    name: str
    roles: str
    ways: tuple[str, ...]
    quiet: str


@dataclass(frozen=True, slots=True)
class DutyShown:
    """Who has the duty in a week."""

    week: str
    first: str
    second: str
    manager: str


@dataclass(frozen=True, slots=True)
class ChannelShown:
    """A way to reach people, and how it does."""

    words: str
    last: str
    missed: int


def tables(told: InForce) -> Iterator[Table]:
    """Give every table of the settings, in their order."""
    by_table: dict[str, list[Setting]] = {}
    for setting in told.settings:
        by_table.setdefault(setting.table, []).append(setting)
    whence = WHENCE if told.file else WITHOUT_A_FILE
    for name, settings in by_table.items():
        words = raw_words("settings", FALLBACK_LANGUAGE)[name]
        is_unset = "unset" in words and all(not s.key and s.origin is Origin.DEFAULT for s in settings)
        rows = () if is_unset else tuple(_row(setting, words, whence) for setting in settings)
        yield Table(name, words["about"], rows, words.get("unset", "") if is_unset else "")


def _row(setting: Setting, words: dict[str, str], whence: dict[Origin, str]) -> Row:
    said = words[setting.key] if setting.key else words["about"]
    return Row(said, setting.key, setting.value, whence[setting.origin])


def people_shown(told: InForce) -> list[PersonShown]:
    """Give the yard's people."""
    return [PersonShown(p.name, ", ".join(p.roles) or "no role", tuple(_ways(p)), _quiet(p.quiet)) for p in told.people]


def _ways(person: YardPerson) -> Iterator[str]:
    for channel in channels(person):
        rings = ", rings" if channel.rings else ""
        yield f"{WAYS[channel.kind]}: {shown_address(channel.kind, channel.address)}{rings}"


def _quiet(hours: QuietHours | None) -> str:
    return "none" if hours is None else f"{hours.begins:%H:%M} to {hours.ends:%H:%M}"


def rota_shown(told: InForce) -> list[DutyShown]:
    """Give who has the duty: usually, then week by week."""
    if told.rota is None:
        return []
    named = {person.id: person.name for person in told.people}

    def people(ids: tuple[str, ...]) -> str:
        return ", ".join(named.get(one, one) for one in ids) or "as usual"

    def duty(week: str, d: Duty) -> DutyShown:
        return DutyShown(week, people(d.first), people(d.second), people(d.manager))

    usual, found = told.rota.usual, []
    if usual != Duty():
        first = duty("Usually", usual)
        others = {"second": first.second, "manager": first.manager, "first": first.first}
        found.append(DutyShown("Usually", **{k: "nobody named" if v == "as usual" else v for k, v in others.items()}))
    return found + [duty(week, d) for week, d in sorted(told.rota.weeks.items())]


def channels_shown(deps: Deps, wall: YardClock) -> list[ChannelShown]:
    """Give each channel that anything was ever sent by, or is still to be: when it last worked, what it missed."""
    last = deps.happened.last_sent()
    missed: dict[str, int] = {}
    for line in deps.calls.undelivered(wall.now_ms):
        missed[line.notice.channel] = missed.get(line.notice.channel, 0) + 1
    used = {str(c.kind) for p in deps.roster.everybody() for c in channels(p)}
    return [
        ChannelShown(words, wall.at(last[kind]) if kind in last else "never yet", missed.get(kind, 0))
        for kind, words in ((str(kind), words) for kind, words in WAYS.items())
        if kind in used or kind in last or kind in missed
    ]

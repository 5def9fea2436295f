"""A yard to measure the pages by: many boats, of which some have alerts, some are silent and most are quiet."""

import sys
import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "web"))

from told import call_of
from web.conftest import FLAGS, Served
from yards import HOUR_MS, NOW_MS, Yard, frost, not_known, one_of_each, reading, record

from monitor.model.access import Account, Grade
from monitor.model.batch import Batch
from monitor.model.call import CallKind
from monitor.model.finding import Finding
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.vessel import Person
from monitor.store.access import AccessFile
from monitor.web import Deps

__all__ = ["FLAGS", "MeasuredYard", "Served", "measured_yard", "one_of_each"]

DAY_MS = 24 * HOUR_MS
EVERY_MS = 600_000
HISTORIES = {"month-of-readings": 30, "winter-of-readings": 180}
"""Two boats more, and for how many days their seven sensors have been heard every ten minutes."""
SAILOR = Account("yan", "Yan Invented", Grade.YARD)
OWNER = Account("olga@example.org", "Olga Invented", Grade.OWNER, "olga@example.org")
PASSWORD = "four wet dogs ashore"  # noqa: S105 - of a yard that is thrown away
SILENT, UNKNOWN, OF = 18, 19, 20
ALERTS = {14: Priority.CAUTION, 15: Priority.CAUTION, 16: Priority.WARNING, 17: Priority.ALARM}
"""Of twenty boats fourteen are quiet, four have an alert, one is silent, and of one something is not known."""
COMMITTED_AT_ONCE = 5_000


@dataclass
class MeasuredYard:
    """A yard under measurement.

    Attributes:
        deps: what its pages are made from, with sign-in.
        heard: ids of the boats that are heard while it is measured.
        sailor: the session of somebody who sees all boats.
        owner: the session of somebody who owns one of them.
    """

    yard: Yard
    deps: Deps
    heard: list[str]
    access: AccessFile
    sailor: str
    owner: str

    def close(self) -> None:
        """Close its files."""
        self.access.close()
        self.yard.close()


def measured_yard(folder: Path, vessels: int, cache_dir: Path) -> MeasuredYard:
    """Make a yard of so many boats, and the two with many readings."""
    yard = Yard(folder / "journal.sqlite")
    heard = _fill(yard, vessels)
    for name, days in HISTORIES.items():
        _hear_all(yard, _history(name, days))
    access = AccessFile(folder / "access.sqlite", bytes(32))
    deps = yard.deps(cache_dir, access=access, calls=yard.view, visits=yard.view)
    return MeasuredYard(yard, deps, heard, access, _session(access, SAILOR), _session(access, OWNER))


def _session(access: AccessFile, account: Account) -> str:
    wall_ms = time.time_ns() // 1_000_000
    access.put(account, wall_ms)
    session = access.take_up(access.invite(account.login, wall_ms), account, PASSWORD, wall_ms)
    if session is None:
        raise SystemExit(f"{account.name} could not sign in")
    return session


def _fill(yard: Yard, vessels: int) -> list[str]:
    like = record("like", "Like")
    boats = []
    for number in range(vessels):
        address = OWNER.email if number == 1 else f"owner-{number}@example.org"
        own = {"id": f"boat-{number:05}", "name": f"Boat {number}", "plot": f"A{number}"}
        boats.append(like.model_copy(update=own | {"owner": Person(name=f"Owner {number}", email=address)}))
    for name, days in HISTORIES.items():
        laid_up = datetime.fromtimestamp((NOW_MS - days * DAY_MS) / 1000, UTC)
        boats.append(like.model_copy(update={"id": name, "name": name, "laid_up": laid_up}))
    yard.lay_up(*boats)
    heard, readings, rest, cold = [], [], Batch(), []
    for number, boat in enumerate(boats[:vessels]):
        kind = number % OF
        if kind == SILENT:
            alone = call_of([yard.open_alert(boat.id, _silence())], boat.id, call=f"{number:016}")
            rest.calls[alone.id] = alone
        else:
            heard.append(boat.id)
        if kind in ALERTS:
            cold.append(yard.open_alert(boat.id, frost(ALERTS[kind], -9.0 - number % 7 / 10)))
        elif kind == UNKNOWN:
            rest.not_known[boat.id] = [not_known()]
        readings += one_of_each(boat.id, NOW_MS - (30 * HOUR_MS if kind == SILENT else 120_000))
    _hear_all(yard, readings)
    if cold:
        call = call_of(cold, "frost", CallKind.FLEET)
        rest.calls[call.id] = call
    yard.next_seq()
    yard.commit(rest)
    return heard


def _silence() -> Finding:
    found = replace(frost(Priority.WARNING), rule="silence", subject="gateway", kind="gateway", harm=None)
    facts = {"ever_heard": True, "silent_h": 30.0, "last_heard_ms": NOW_MS - 30 * HOUR_MS, "sensors": 7}
    facts |= dict.fromkeys(("frost_now", "frost_coming", "power_was_off"), False)
    return replace(found, causes=(), first=(), never=(), facts=found.facts | facts)


def _history(vessel: str, days: int) -> list[Reading]:
    made = []
    for at_ms in range(NOW_MS - days * DAY_MS, NOW_MS, EVERY_MS):
        swing = at_ms % DAY_MS / DAY_MS
        made += [
            reading(vessel, one.sensor, at_ms, round(one.value * (1 + swing / 4), 3)) for one in one_of_each(vessel, 0)
        ]
    return made


def _hear_all(yard: Yard, readings: list[Reading]) -> None:
    for first in range(0, len(readings), COMMITTED_AT_ONCE):
        yard.hear(readings[first : first + COMMITTED_AT_ONCE])

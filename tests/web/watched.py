"""A yard that is watched in earnest: the real watch, telling and journal behind the pages, and the real refusals."""

from concurrent.futures import Future
from pathlib import Path
from typing import Any

from yards import HOUR_MS, ZONE, Yard, record

from monitor.fleet import CommandError, Fleet
from monitor.model.alert import Alert
from monitor.model.inputs import AlertCommand, Command, RecordVersion
from monitor.model.notice import Notice
from monitor.model.only_managers import refused_to
from monitor.model.parcel import Parcel, RawReading
from monitor.model.people import Ladder, Role, Rota, YardPerson
from monitor.model.roster import Roster
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Person, Vessel
from monitor.telling import Telling
from monitor.web import Deps

PEOPLE = (
    YardPerson(id="anna", name="Anna Tolley", email="anna@yard.example", roles=(Role.DUTY,)),
    YardPerson(id="maud", name="Maud Farrier", email="maud@yard.example", roles=(Role.MANAGER,)),
)
DUTY = (Person(name="Anna Tolley", email="anna@yard.example"),)


class WatchedYard(Yard):
    """A journal with the fleet that writes it."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.roster = Roster.of(PEOPLE, Rota(), DUTY, ZONE.key)
        self.fleet = Fleet(self.journal)
        self.fleet.restore(self.journal)
        self.telling = Telling(self.roster, Ladder(), YardCalendar(zone=ZONE.key))

    def deps(self, cache_dir: Path, **changes: Any) -> Deps:
        return super().deps(cache_dir, **({"calls": self.view, "visits": self.view} | changes))

    def watch(self, *vessels: Vessel) -> None:
        for vessel in vessels:
            self.fleet.command(RecordVersion(vessel, self.now_ms - HOUR_MS, "Hanno Brightwell"))
        self.fleet.clock(self.now_ms - HOUR_MS)
        self.flush()

    def sensed(self, vessel: str, sensor: str, value: float, ago_ms: int = 60_000) -> None:
        at_ms = self.now_ms - ago_ms
        readings = [RawReading(vessel, sensor, value, at_ms)]
        self.fleet.take(Parcel(0, 0, 0, retained=False, topic="", readings=readings), at_ms, caught_up=True)
        self.flush()

    def passes(self, hours: float) -> None:
        self.now_ms += round(hours * HOUR_MS)
        self.fleet.clock(self.now_ms)
        self.flush()

    def flush(self) -> None:
        batch = self.fleet.hand_over()
        self.telling.take(batch, self.fleet.vessel)
        self.journal.append(batch)
        self.changes.publish(batch.last_seq, batch.vessels | {a.vessel for a in batch.alerts.values()})

    def alert_of(self, vessel: str, rule: str) -> Alert:
        (found,) = [a for a in self.view.alerts(open_only=False, vessel=vessel) if a.rule == rule]
        return found

    def first_notice(self, person: str) -> Notice:
        calls = self.view.calls(open_only=False)
        lines = [line for call in calls for line in self.view.notices(call.id)]
        return next(line.notice for line in lines if line.notice.person == person)

    def _take(self, command: Command, answer: "Future[str | None]") -> None:
        with self._lock:
            alert = self.view.alert(command.alert) if isinstance(command, AlertCommand) else None
            refused = self.answer or refused_to(command, alert, self.roster.is_manager)
            if refused is None:
                try:
                    self.fleet.command(command)
                except CommandError as error:
                    refused = str(error)
                else:
                    self.flush()
            answer.set_result(refused)


def flooded_yard(path: Path, boats: int = 1) -> WatchedYard:
    """Give a yard of some boats, each with water at its float; one alone is no event of the fleet, three are."""
    yard = WatchedYard(path)
    names = ("Amber Lark", "Barley Moon", "Copper Wren", "Dove Hollow")
    ids = [name.lower().replace(" ", "-") for name in names]
    yard.watch(*(record(i, n, f"B{k}") for k, (i, n) in enumerate(zip(ids, names, strict=True), 1)))
    for vessel in ids[:boats]:
        yard.sensed(vessel, "float", 1.0)
    yard.passes(0.01)
    return yard

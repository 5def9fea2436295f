"""A yard that is walked: five boats, of which four ask for a visit, and a watch that takes visits and confirmations."""

from concurrent.futures import Future
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from yards import HOUR_MS, Yard, frost, one_of_each, reading, record

from monitor.model.alert import AlertChange
from monitor.model.equipment import Dehumidifier, LiquidSystem, Seacock, ShorePower, SystemKind, SystemState, Visit
from monitor.model.finding import Figure
from monitor.model.inputs import Command, Confirm, VisitReport
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Card, Mode

LATELY = (Visit(on=date(2013, 12, 1), by="Hanno Brightwell"),)
CARD = Card(
    keys="Office, hook 14",
    ladder="Behind the shed, tie it",
    isolator="Under the companionway step",
    gas="Bottle in the stern locker, shut",
    shore_post="Post 7, left",
    instructions="Heater may run. Ring before anything is drained.",
)


class VisitedYard(Yard):
    """The tests' yard, which also takes what people who go aboard hand in."""

    refusals: dict[str, str]

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.refusals = {}

    def _take(self, command: Command, answer: "Future[str | None]") -> None:
        if isinstance(command, VisitReport) and self.answer is None:
            with self._lock:
                self.told.found.insert(0, command)
                answer.set_result(None)
        elif isinstance(command, Confirm) and command.alert in self.refusals:
            answer.set_result(self.refusals[command.alert])
        elif isinstance(command, Confirm):
            with self._lock:
                alert = self.alerts[command.alert]
                alert.confirmed_ms, alert.confirmed_by = command.at_ms, command.actor
                self.happens(alert, AlertChange.CONFIRMED, command.at_ms, command.actor, command.note)
                answer.set_result(None)
        else:
            super()._take(command, answer)


def walked_yard(path: Path) -> VisitedYard:
    """Give the yard: one alarm with what latches beside it, one silence, one overdue afloat, one due, one quiet."""
    yard = VisitedYard(path)
    afloat: dict[str, Any] = {"mode": Mode.AFLOAT_LAID_UP, "plot": None, "berth": "A1"}
    yard.lay_up(
        record(
            "amber-lark",
            "Amber Lark",
            "B10",
            visits=LATELY,
            card=CARD,
            shore_power=ShorePower(on=True),
            dehumidifier=Dehumidifier(running=True, space="saloon"),
            seacocks=(Seacock(id="heads", name="Heads inlet", open=False),),
            liquid_systems=(
                LiquidSystem(id="water", name="Fresh water", kind=SystemKind.FRESH_WATER, state=SystemState.WET),
            ),
        ),
        record("barley-moon", "Barley Moon", "B2", visits=LATELY),
        record("copper-wren", "Copper Wren", visits=LATELY).model_copy(update=afloat),
        record("dove-hollow", "Dove Hollow", "B9", visits=(Visit(on=date(2013, 11, 8), by="Hanno Brightwell"),)),
        record("fern-island", "Fern Island", "B3", visits=LATELY),
    )
    for vessel in ("amber-lark", "barley-moon", "copper-wren", "dove-hollow", "fern-island"):
        yard.hear(one_of_each(vessel, yard.now_ms - 120_000))
    yard.hear([reading("amber-lark", "volts", yard.now_ms - 60_000, 12.38)])
    yard.open_alert("amber-lark", frost(Priority.ALARM, -9.1))
    water = replace(
        frost(Priority.WARNING), rule="bilge", subject="main", kind="none", figure=Figure(40.0, 100.0, "mm"), harm=None
    )
    latched = yard.open_alert("amber-lark", replace(water, causes=(), first=(), never=()))
    latched.latching, latched.state, latched.returned_ms = True, AlertState.LATCHED, yard.now_ms - HOUR_MS
    yard.happens(latched, AlertChange.LATCHED, yard.now_ms - HOUR_MS)
    silent = replace(frost(Priority.WARNING), rule="silence", subject="gateway", kind="gateway", causes=(), first=())
    yard.open_alert("barley-moon", replace(silent, never=(), harm=None))
    return yard

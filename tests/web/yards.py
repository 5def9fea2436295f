"""Yards to look at: a journal with a winter in it, or with a few boats of which each shows one thing."""

import threading
from collections.abc import Iterable
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from proved import proved
from told import Told

from monitor.messages.links import LinkSigner
from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.batch import Batch
from monitor.model.document import read_vessel
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.inputs import Acknowledge, Command, RecordVersion
from monitor.model.parcel import Reject, RejectReason
from monitor.model.reading import Reading, Seen
from monitor.model.scale import AlertState, Flag, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.rules import silence_findings
from monitor.rules.silence_memory import Heard, SilenceState
from monitor.store.journal import Journal
from monitor.store.view import JournalView
from monitor.web import Changes, Deps, Health

HOUR_MS = 3_600_000
NOW_MS = 1_386_612_120_000  # Monday 9 December 2013, 18:02 UTC
ZONE = ZoneInfo("Europe/London")

RECORD = """
id = "{id}"
name = "{name}"
yard = "eiderhythe"
mode = "ashore bung out"
plot = "{plot}"
laid_up = 2013-10-31T16:00:00Z
engineer = "Hanno Brightwell"
outside_sensor = "outside-air"
sensors = [
  {{ id = "outside-air", quantity = "temperature", place = "stern rail", interval_s = 3600, supply = "own cell" }},
  {{ id = "engine-space", quantity = "temperature", place = "engine space", interval_s = 3600, supply = "own cell" }},
  {{ id = "cabin", quantity = "temperature", place = "saloon", interval_s = 3600, supply = "own cell" }},
  {{ id = "cabin-rh", quantity = "humidity", place = "saloon", interval_s = 3600, supply = "own cell" }},
  {{ id = "volts", quantity = "voltage", place = "battery", interval_s = 3600, supply = "own cell" }},
  {{ id = "level", quantity = "level", place = "bilge", interval_s = 3600, supply = "own cell" }},
  {{ id = "float", quantity = "float_switch", place = "bilge", interval_s = 3600, supply = "own cell" }},
]
open_items = [{{ tag = 7, what = "Impeller is in the galley drawer", due = "before lift" }}]
[owner]
name = "Tamsin Eldergrove"
[[liquid_systems]]
id = "closed-cooling"
name = "Engine closed cooling"
kind = "closed cooling"
state = "treated"
liquid = "ethylene glycol"
tested_freeze_degc = -8.0
tester = "refractometer"
tested = 2013-10-29
sensor = "engine-space"
[[batteries]]
id = "house"
name = "House battery"
chemistry = "agm"
capacity_ah = 100
voltage_sensor = "volts"
[[bilges]]
id = "main"
name = "Main bilge"
level_sensor = "level"
float_sensor = "float"
starter_m = 0.28
[[spaces]]
id = "saloon"
name = "Saloon"
humidity_sensor = "cabin-rh"
temperature_sensor = "cabin"
[[seacocks]]
id = "cockpit"
name = "Cockpit drains"
open = true
reason = "Ashore: rain runs out through them"
"""


def record(vessel: str, name: str, plot: str = "B4", **changes: Any) -> Vessel:
    """Give a record with its sensors proved, and with some of its fields otherwise."""
    made = read_vessel(RECORD.format(id=vessel, name=name, plot=plot), vessel)
    return proved(made.model_copy(update=changes)).model_copy(update=changes)


def frost(priority: Priority, t_degc: float = -7.2) -> Finding:
    """Give a finding of the frost rule."""
    return Finding(
        rule="frost",
        subject="closed-cooling",
        kind="margin",
        priority=priority,
        figure=Figure(t_degc, -8.0, "degC"),
        harm=TimeToHarm(3 * 3600, 9 * 3600),
        sure=Sure.LIKELY,
        causes=("coolant_weak", "cold_night"),
        first=("retest_coolant", "strengthen_coolant"),
        never=("no_start_if_slush", "glycol_poison"),
        rests_on=(Seen("engine-space", NOW_MS - 60_000, t_degc),),
        facts={
            "name": "Engine closed cooling",
            "how": "treated",
            "t_degc": t_degc,
            "protected_to_degc": -8.0,
            "margin_k": 0.8,
            "error_k": 1.5,
            "foretold_degc": -9.0,
            "carried_h": 6.0,
            "own_probe": True,
            "frozen": False,
            "weakest": True,
        },
    )


def not_known() -> Finding:
    """Give what the frost rule says when it has no temperature."""
    facts: dict[str, int | float | str | bool | None] = {
        "name": "Engine closed cooling",
        "how": "treated",
        "protected_to_degc": -8.0,
    }
    return replace(
        frost(Priority.CAUTION),
        kind="not known",
        sure=Sure.NOT_KNOWN,
        harm=None,
        facts=facts,
        causes=("no_temperature",),
        first=("read_temperature_aboard",),
        never=(),
    )


def silent(boat: Vessel, last_ms: int) -> Finding:
    """Give what the silence rule says of a boat of whom nothing is heard: with all its facts, as only it knows them."""
    heard = {sensor.id: Heard(since_ms=last_ms - 24 * HOUR_MS) for sensor in boat.sensors}
    state = SilenceState(first_ms=last_ms - 24 * HOUR_MS, newest_ms=last_ms, sensors=heard)
    return silence_findings.gateway(boat, state, Priority.WARNING, 12 * HOUR_MS, None, NOW_MS)


class Yard:
    """A journal and the little of an agent that pages need: it commits, publishes, and takes commands."""

    def __init__(self, path: Path, now_ms: int = NOW_MS) -> None:
        self.path, self.now_ms = path, now_ms
        self.journal = Journal(path)
        self.view = JournalView(path)
        self.changes = Changes()
        self.told = Told()
        self.links = LinkSigner(b"a secret of the yard in the tests")
        self.seq = 0
        self.alerts: dict[str, Alert] = {}
        self.commands: list[Command] = []
        self.sent_again: list[str] = []
        self.answer: str | None = None
        self.health = Health(
            connected=True, caught_up=True, loop_alive=True, last_commit_ms=now_ms - 1_000, wall_ms=now_ms
        )
        self._lock = threading.Lock()

    def close(self) -> None:
        self.changes.close()
        self.view.close()
        self.journal.close()

    def deps(self, cache_dir: Path, **changes: Any) -> Deps:
        made = Deps(
            yard_name="Eiderhythe Yard",
            zone=ZONE,
            yard=self.view,
            records=self.view,
            readings=self.view,
            alerts=self.view,
            calls=self.told,
            visits=self.told,
            forecasts=self.view,
            intake=self.view,
            happened=self.view,
            submit=self.submit,
            links=self.links,
            changes=self.changes,
            now_ms=lambda: self.now_ms,
            health=lambda: self.health,
            cache_dir=cache_dir,
            send_again=self.send_again,
        )
        return replace(made, **changes)

    def commit(self, batch: Batch) -> None:
        batch.last_seq = self.seq
        self.journal.append(batch)
        self.changes.publish(self.seq, batch.vessels)

    def next_seq(self) -> int:
        self.seq += 1
        return self.seq

    def lay_up(self, *vessels: Vessel, at_ms: int | None = None) -> None:
        at = self.now_ms - 30 * 24 * HOUR_MS if at_ms is None else at_ms
        self.commit(Batch(inputs=[(self.next_seq(), RecordVersion(v, at, "Hanno Brightwell")) for v in vessels]))

    def hear(self, readings: Iterable[Reading]) -> None:
        self.commit(Batch(readings=[(self.next_seq(), r) for r in readings]))

    def open_alert(self, vessel: str, finding: Finding, ago_ms: int = 4 * HOUR_MS) -> Alert:
        opened = self.now_ms - ago_ms
        made = Alert(
            id=alert_id(vessel, finding.rule, finding.subject, opened),
            vessel=vessel,
            rule=finding.rule,
            subject=finding.subject,
            state=AlertState.UNACKNOWLEDGED,
            priority=finding.priority,
            highest=finding.priority,
            opened_ms=opened,
            finding=finding,
        )
        self.happens(made, AlertChange.OPENED, opened)
        return made

    def happens(self, alert: Alert, change: AlertChange, at_ms: int, actor: str = "watch", note: str = "") -> None:
        self.alerts[alert.id] = alert
        event = AlertEvent(alert.id, alert.vessel, at_ms, change, alert.state, alert.priority, actor, note)
        self.commit(Batch(events=[(self.next_seq(), 0, event)], alerts={alert.id: alert}))

    def clear(self, alert: Alert) -> None:
        alert.returned_ms, alert.state = self.now_ms - HOUR_MS, AlertState.RETURNED_UNACKNOWLEDGED
        self.happens(alert, AlertChange.RETURNED, alert.returned_ms)

    def send_again(self, notice: str) -> "Future[str | None]":
        """Have a message tried again, as the agent does."""
        answer: Future[str | None] = Future()
        self.sent_again.append(notice)
        answer.set_result(None)
        return answer

    def submit(self, command: Command) -> "Future[str | None]":
        """Take a command as the agent does: the answer comes when it has been committed."""
        answer: Future[str | None] = Future()
        self.commands.append(command)
        threading.Thread(target=self._take, args=(command, answer), daemon=True).start()
        return answer

    def _take(self, command: Command, answer: "Future[str | None]") -> None:
        with self._lock:
            if self.answer is not None:
                answer.set_result(self.answer)
                return
            if isinstance(command, RecordVersion):
                self.commit(Batch(inputs=[(self.next_seq(), command)]))
            elif isinstance(command, Acknowledge):
                alert = self.alerts[command.alert]
                alert.acknowledged_ms, alert.acknowledged_by = command.at_ms, command.actor
                alert.state = AlertState.ACKNOWLEDGED
                self.happens(alert, AlertChange.ACKNOWLEDGED, command.at_ms, command.actor, command.note)
            answer.set_result(None)


def reading(vessel: str, sensor: str, at_ms: int, value: float, flag: Flag = Flag.PASS, **changes: Any) -> Reading:
    """Give a reading that came when it says."""
    return Reading(vessel, sensor, at_ms, at_ms, changes.pop("arrived_ms", at_ms), value, flag=flag, **changes)


def one_of_each(vessel: str, at_ms: int) -> list[Reading]:
    """Give one ordinary reading of each sensor of the yard's boats."""
    values = {"outside-air": 1.0, "engine-space": 3.0, "cabin": 3.0, "cabin-rh": 70.0, "volts": 12.7, "level": 0.01}
    return [reading(vessel, sensor, at_ms, value) for sensor, value in (values | {"float": 0.0}).items()]


def two_days(vessel: str, now_ms: int = NOW_MS) -> list[Reading]:
    """Give two days of hourly readings with a gap of eight hours, a suspect one and a rising bilge."""
    made = []
    for hours in range(49, -1, -1):
        at = now_ms - hours * HOUR_MS - 120_000
        if 20 <= hours < 28:
            continue
        swing = (hours % 24) / 24
        for sensor, value in (
            ("outside-air", -6.0 + 7 * swing),
            ("engine-space", -3.0 + 5 * swing),
            ("cabin", 1.0 + 4 * swing),
            ("cabin-rh", 88.0 - 10 * swing),
            ("volts", 12.7 - (49 - hours) * 0.002),
            ("level", 0.012 + (49 - hours) * 0.001),
            ("float", 0.0),
        ):
            flag = Flag.SUSPECT if sensor == "cabin-rh" and hours == 5 else Flag.PASS
            made.append(reading(vessel, sensor, at, round(value, 3), flag))
    return made


def small_yard(path: Path) -> Yard:
    """Give a yard of which each boat shows one state."""
    yard = Yard(path)
    boats = {
        "amber-lark": "Amber Lark",  # alarm
        "barley-moon": "Barley Moon",  # warning, acknowledged
        "copper-wren": "Copper Wren",  # silence
        "dove-hollow": "Dove Hollow",  # caution
        "ember-quay": "Ember Quay",  # cleared, not seen
        "fern-island": "Fern Island",  # quiet
        "grey-heron": "Grey Heron",  # never heard
        "hazel-row": "Hazel Row",  # no sensors
        "iris-day": "Iris Day",  # not known
        "jolly-plover": "Jolly Plover",  # quiet by the rules, and not heard for a day
    }
    bare = {"sensors": (), "liquid_systems": (), "batteries": (), "bilges": (), "spaces": (), "outside_sensor": None}
    yard.lay_up(
        *(record(i, n, f"B{k}", **(bare if i == "hazel-row" else {})) for k, (i, n) in enumerate(boats.items()))
    )
    for vessel in boats:
        if vessel in {"amber-lark", "fern-island"}:
            yard.hear(two_days(vessel))
        elif vessel not in {"grey-heron", "hazel-row", "jolly-plover", "copper-wren"}:
            yard.hear(one_of_each(vessel, yard.now_ms - 120_000))
    for vessel in ("jolly-plover", "copper-wren"):
        yard.hear(one_of_each(vessel, yard.now_ms - 26 * HOUR_MS))
    yard.open_alert("amber-lark", frost(Priority.ALARM, -9.1))
    yard.open_alert("amber-lark", replace(frost(Priority.CAUTION), subject="raw-water"), 9 * HOUR_MS)
    seen = yard.open_alert("barley-moon", frost(Priority.WARNING))
    seen.acknowledged_ms, seen.acknowledged_by = yard.now_ms - HOUR_MS, "Wilf Sandring"
    seen.state = AlertState.ACKNOWLEDGED
    yard.happens(seen, AlertChange.ACKNOWLEDGED, seen.acknowledged_ms, "Wilf Sandring", "going after lunch")
    yard.open_alert("copper-wren", silent(record("copper-wren", "Copper Wren"), yard.now_ms - 26 * HOUR_MS))
    yard.open_alert("dove-hollow", frost(Priority.CAUTION, -4.0))
    yard.clear(yard.open_alert("ember-quay", frost(Priority.WARNING)))
    done = yard.open_alert("fern-island", frost(Priority.CAUTION), 40 * HOUR_MS)
    done.state, done.ended_ms, done.returned_ms = (
        AlertState.NORMAL,
        yard.now_ms - 30 * HOUR_MS,
        yard.now_ms - 30 * HOUR_MS,
    )
    yard.happens(done, AlertChange.ENDED, done.ended_ms)
    yard.commit(Batch(not_known={"iris-day": [not_known()]}))
    topic = "layup/eiderhythe/amber-lark/readings"
    yard.commit(
        Batch(
            rejects=[
                (yard.now_ms - HOUR_MS, Reject(RejectReason.WRONG_UNIT, topic, "cabin: unit 'degF' does not fit")),
                (yard.now_ms, Reject(RejectReason.MALFORMED, "layup/eiderhythe/x/y", "<script>alert(1)</script>")),
            ],
            counts={"duplicates": 3, "late": 11},
        )
    )
    return yard

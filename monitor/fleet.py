"""All vessels of a yard over one journal: each input gets its ``seq``, is folded, and stands in the batch to commit.

Pure but for the questions it asks of what is stored. The same inputs in the same order give the same batches' contents
however they are cut, which is why a killed agent comes back to the same alerts.
"""

import gc
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from enum import Enum, auto
from typing import Any, Protocol

from monitor.model.alert import Alert
from monitor.model.batch import Batch
from monitor.model.gate import GateWord, gate_refusal
from monitor.model.inputs import (
    AlertCommand,
    CalendarVersion,
    Clock,
    Command,
    Deaf,
    ForecastVersion,
    Input,
    RecordVersion,
    VesselCommand,
    VisitReport,
    YardInput,
)
from monitor.model.parcel import Parcel, RawReading
from monitor.model.reading import Reading
from monitor.model.surroundings import Forecast, Surroundings, YardCalendar
from monitor.model.vessel import Vessel
from monitor.rules.rule import MINUTE_MS, Rule
from monitor.snapshot import SnapshotError, read_snapshot, write_snapshot
from monitor.watch import Watch
from monitor.watch_state import Outcome

AHEAD_ALLOWED_MS = 5 * MINUTE_MS
SWEPT_AFTER = 200
"""After so many versions of records what is left of them is cleared away at a start: 10 MB."""
BESIDE_MS = 1000
"""How far the event time of a reading may lie from its own where others have taken it: a flood moves no clock."""
LAY_UP_FROM, LAY_UP_TO = datetime(1990, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
"""A lay-up before or after is a slip of the pen, and at the ends of the calendar no day can be reckoned from it."""


class Stored(Protocol):
    """What the fleet asks of the readings stored before."""

    def newest_stated_ms(self, vessel: str, sensor: str) -> int | None:
        """Give the newest stated time of a sensor, None where nothing of it is stored."""
        ...

    def value_at(self, vessel: str, sensor: str, stated_ms: int) -> float | None:
        """Give the stored value of a reading by its identity, None where there is none."""
        ...

    def is_summed_up(self, vessel: str, sensor: str, stated_ms: int) -> bool:
        """Say whether what a sensor said in an hour long ago is kept as a sum only, so that nothing can be added."""
        ...


class Past(Protocol):
    """What a start reads of the journal."""

    def ends_at(self) -> tuple[int, int | None]:
        """Give the seq of the last input (0 in a new journal) and the last clock (None before the first)."""
        ...

    def snapshots(self) -> dict[str, tuple[int, str]]:
        """Give every vessel's last snapshot: its seq and its text."""
        ...

    def record_seqs(self) -> Iterator[tuple[int, str, int]]:
        """Give the seq of every version of every record, whose it is and from when on it is valid, in order."""
        ...

    def record_at(self, seq: int) -> Vessel:
        """Give the version of a record that was committed at a seq."""
        ...

    def inputs_since(self, seq: int) -> Iterator[tuple[int, Input]]:
        """Give every input after a seq, in order."""
        ...

    def open_alerts(self, vessel: str) -> list[Alert]:
        """Give a vessel's open alerts as they were committed."""
        ...


class NothingStored:
    """A `Stored` with nothing in it, for replay."""

    def newest_stated_ms(self, vessel: str, sensor: str) -> int | None:  # noqa: ARG002
        """Give None: nothing is stored."""
        return None

    def value_at(self, vessel: str, sensor: str, stated_ms: int) -> float | None:  # noqa: ARG002
        """Give None: nothing is stored."""
        return None

    def is_summed_up(self, vessel: str, sensor: str, stated_ms: int) -> bool:  # noqa: ARG002
        """Give False: nothing is stored."""
        return False


class Save(Enum):
    """Which watch states go into a batch as snapshots.

    A vessel that only clocks have passed over is left out of `CHANGED`, and would be folded again from far back: now
    and then everything is saved.
    """

    NOTHING = auto()
    CHANGED = auto()
    EVERYTHING = auto()


class CommandError(Exception):
    """A command that cannot be carried out. Its text says what was wrong and what to do."""


class Fleet:
    """The watches of a yard, and the batch that is being filled.

    Attributes:
        watches: every vessel's watch, by id.
        clock_ms: the last clock, None before the first.
        surroundings: what is known of the yard.
        folded_again: what a start had to fold again from the lay-up on, and why, for the log.
    """

    def __init__(self, stored: Stored, last_seq: int = 0) -> None:
        self.watches: dict[str, Watch] = {}
        self.clock_ms: int | None = None
        self.surroundings = Surroundings()
        self._stored = stored
        self._seq = last_seq
        self._batch = Batch(last_seq=last_seq)
        self._newest: dict[tuple[str, str], int] = {}
        self._pending: dict[tuple[str, str, int], float] = {}
        self._pending_to = 0
        self._taken_run: dict[tuple[str, str], tuple[int, int]] = {}
        self._unsaved: set[str] = set()
        self._unknown: set[str] = set()
        self._outcome = Outcome()
        self.folded_again: list[str] = []

    def vessel(self, vessel_id: str) -> Vessel | None:
        """Give the valid record of a vessel, None where there is none of that id."""
        watch = self.watches.get(vessel_id)
        return None if watch is None else watch.record

    def take(self, parcel: Parcel, arrived_ms: int | None, *, caught_up: bool) -> None:
        """Take a message in.

        Args:
            parcel: the message.
            arrived_ms: when it arrived by the agent's clock; None before a stream's first clock, when each reading is
                taken as arrived at its stated time.
            caught_up: whether our own marker has come back, so that what carries no time is news.
        """
        for raw in parcel.readings:
            self._take_reading(raw, arrived_ms, news=raw.stated_ms is not None or (caught_up and not parcel.retained))
        if parcel.rejects:
            at_ms = arrived_ms if arrived_ms is not None else self.clock_ms or 0
            self._batch.rejects += [(at_ms, reject) for reject in parcel.rejects]

    def clock(self, at_ms: int) -> None:
        """Let every vessel know that the time is at least this. A clock that does not rise is no input."""
        if self.clock_ms is not None and at_ms <= self.clock_ms:
            return
        self.clock_ms = at_ms
        clock = Clock(at_ms)
        self._seq += 1
        self._batch.inputs.append((self._seq, clock))
        for watch in self.watches.values():
            self._fold(watch, clock)

    def calendar(self, calendar: YardCalendar, at_ms: int) -> None:
        """Let every rule know the yard's calendar from now on. The one that is known already is no input."""
        if calendar != self.surroundings.calendar:
            self._surround(CalendarVersion(calendar, at_ms))

    def forecast(self, hours: Sequence[tuple[int, float]], at_ms: int) -> None:
        """Let every rule know a forecast: (time ms UTC, degC) pairs. The one that is known already is no input."""
        forecast, known = Forecast.of(at_ms, hours), self.surroundings.forecast
        if known is None or forecast.hours != known.hours:
            self._surround(ForecastVersion(forecast, at_ms))

    def deaf(self, from_ms: int, to_ms: int) -> None:
        """Note that the agent itself heard nothing between these times."""
        deaf = Deaf(from_ms, to_ms)
        self._seq += 1
        self._batch.inputs.append((self._seq, deaf))
        for watch in self.watches.values():
            self._fold(watch, deaf)
            self._unsaved.add(watch.record.id)

    def command(self, command: Command) -> None:
        """Carry out what a person asked for.

        Whether they may is for the caller to say: a watch knows of names, and of no roles.

        Raises:
            CommandError: where it cannot be; nothing is changed.
        """
        if isinstance(command, RecordVersion):
            refused = _cannot_be_watched(command)
            if refused:
                raise CommandError(refused)
            self._seq += 1
            self._batch.inputs.append((self._seq, command))
            self._fold_record(command)
            self._unsaved.add(command.vessel.id)
            return
        watch = self.watches.get(command.vessel)
        if watch is None:
            raise CommandError(f"no vessel {command.vessel!r} in this yard")
        refused = _refusal(watch, command)
        if refused:
            raise CommandError(refused)
        self._seq += 1
        self._batch.inputs.append((self._seq, command))
        self._fold(watch, command)
        self._unsaved.add(command.vessel)

    def hand_over(self, save: Save = Save.NOTHING) -> Batch:
        """Give the batch that has been filled, to be committed before anything more is taken, and start the next."""
        batch = self._batch
        batch.last_seq = self._seq
        batch.not_known = {vessel: self.watches[vessel].not_known() for vessel in sorted(self._unknown)}
        self._unknown.clear()
        if save is not Save.NOTHING:
            vessels = self.watches if save is Save.EVERYTHING else sorted(self._unsaved)
            batch.snapshots = {vessel: write_snapshot(self.watches[vessel]) for vessel in vessels}
            self._unsaved.clear()
        self._batch = Batch(last_seq=self._seq)
        self._pending.clear()
        self._pending_to = 0
        return batch

    @property
    def filled(self) -> int:
        """How many inputs stand in the batch that is being filled."""
        return len(self._batch.readings) + len(self._batch.inputs)

    def restore(self, past: Past) -> None:
        """Come back to where the journal ends: load the snapshots, fold what came after, emit nothing twice."""
        # Nearly all that is made here stays: to look for garbage in it meanwhile took more than half of a start.
        collects = gc.isenabled()
        gc.disable()
        try:
            self._restore(past)
        finally:
            if collects:
                gc.enable()

    def _restore(self, past: Past) -> None:
        self._seq, self.clock_ms = past.ends_at()
        seen_to: dict[str, int] = {}
        # A winter's forms make a hundred versions of a record: only the one that a snapshot was made under is read.
        records: dict[str, list[tuple[int, int]]] = {}
        for seq, vessel, from_ms in past.record_seqs():
            records.setdefault(vessel, []).append((seq, from_ms))
        stale: dict[str, tuple[type[Rule[Any]], ...]] = {}
        spoilt: list[str] = []
        for vessel, (seq, text) in past.snapshots().items():
            known = [version for version in records.get(vessel, ()) if version[0] <= seq]
            if not known:
                continue
            watch = Watch(past.record_at(known[-1][0]), known[0][1])
            try:
                stale[vessel] = read_snapshot(watch, text)
            except SnapshotError as error:
                self.folded_again.append(f"{vessel}: snapshot {error}")
                spoilt.append(vessel)
                continue
            self.watches[vessel], seen_to[vessel] = watch, seq
        if seen_to:
            self.surroundings = self.watches[max(seen_to, key=seen_to.__getitem__)].state.surroundings
        for vessel, known in records.items():
            seen_to.setdefault(vessel, known[0][0] - 1)
        self._fold_again(past.inputs_since(min(seen_to.values(), default=self._seq)), seen_to)
        for vessel in spoilt:
            self.watches[vessel].adopt(self.watches[vessel], past.open_alerts(vessel))
        stale = {vessel: rules for vessel, rules in stale.items() if rules}
        for vessel, rules in stale.items():
            names = ", ".join(rule.name for rule in rules)
            self.folded_again.append(f"{vessel}: rules of another version, or that had failed: {names}")
        if stale:
            self._fold_rules_again(stale, past)
        self._unsaved, self._unknown = set(self.watches), set(self.watches)
        self._batch = Batch(last_seq=self._seq)

    def _fold_again(self, inputs: Iterable[tuple[int, Input]], seen_to: dict[str, int]) -> None:
        for seq, item in _swept(inputs):
            if isinstance(item, YardInput):
                if isinstance(item, (CalendarVersion, ForecastVersion)):
                    self.surroundings = surrounded(self.surroundings, item)
                for vessel, watch in self.watches.items():
                    if seq > seen_to[vessel]:
                        watch.fold(item)
                continue
            vessel = item.vessel.id if isinstance(item, RecordVersion) else item.vessel
            if seq <= seen_to[vessel]:
                continue
            if isinstance(item, RecordVersion) and vessel not in self.watches:
                self.watches[vessel] = Watch(item.vessel, item.at_ms)
            else:
                self.watches[vessel].fold(item)

    def _fold_rules_again(self, stale: Mapping[str, tuple[type[Rule[Any]], ...]], past: Past) -> None:
        """Fold rules whose version has changed from the lay-up on.

        What they would have said then is past: their open alerts stay as they were committed, and the next tick brings
        them to what the rule says now.
        """
        alone: dict[str, Watch] = {}
        for _, item in _swept(past.inputs_since(0)):
            if isinstance(item, YardInput):
                for watch in alone.values():
                    watch.fold(item)
                continue
            vessel = item.vessel.id if isinstance(item, RecordVersion) else item.vessel
            if vessel in alone:
                alone[vessel].fold(item)
            elif vessel in stale and isinstance(item, RecordVersion):
                alone[vessel] = Watch(item.vessel, item.at_ms, stale[vessel])
        for vessel, watch in alone.items():
            self.watches[vessel].adopt(watch, past.open_alerts(vessel))

    def _take_reading(self, raw: RawReading, arrived_ms: int | None, *, news: bool) -> None:
        watch = self.watches.get(raw.vessel)
        if watch is None:
            self._count("unknown vessel")
            return
        if arrived_ms is None:
            arrived_ms = raw.stated_ms if raw.stated_ms is not None else watch.state.now_ms
        vessel, sensor = name = (raw.vessel, raw.sensor)
        stated_ms = arrived_ms + raw.offset_ms if raw.stated_ms is None else raw.stated_ms
        fault = not watch.laid_up_ms <= stated_ms <= arrived_ms + AHEAD_ALLOWED_MS
        newest = self._newest.get(name)
        if newest is None or stated_ms <= newest:
            kept_ms = self._kept_ms(watch, raw, stated_ms, arrived_ms, fault=fault)
            if kept_ms is None:
                return
            event_ms = min(kept_ms, stated_ms + BESIDE_MS)
            stated_ms, newest = kept_ms, self._newest.get(name)
        else:
            event_ms = stated_ms
        if fault:
            event_ms = arrived_ms
            self._count("clock fault")
        # In the order of its attributes: one is made for every number that comes.
        reading = Reading(vessel, sensor, stated_ms, event_ms, arrived_ms, raw.value, news, False, fault)  # noqa: FBT003
        self._seq += 1
        if newest is None or stated_ms > newest:
            self._newest[name] = stated_ms
        self._batch.readings.append((self._seq, reading))
        outcome = self._outcome
        watch.hear(reading, outcome)
        if outcome.events or outcome.alerts or outcome.settled or outcome.unknown:
            self._keep(watch, outcome)
        if reading.late:
            self._count("late")
        self._unsaved.add(vessel)

    def _kept_ms(self, watch: Watch, raw: RawReading, stated_ms: int, arrived_ms: int, *, fault: bool) -> int | None:
        """Give the time that a reading is kept under which is not newer than its sensor's newest; None: it is not."""
        name = (raw.vessel, raw.sensor)
        known = self._known_value(name, stated_ms)
        if known is None:
            if not fault and self._is_summed_up(name, stated_ms):
                self._count("sent again after its time")  # what would show whether it is one has been dropped
                return None
            return stated_ms
        if raw.stated_ms is not None and not self._is_another(watch, raw, known, fault=fault):
            return None
        # Two bare numbers of one millisecond are two readings, and so is what a clock that stands still states.
        return self._free_ms(name, arrived_ms if fault else stated_ms)

    def _free_ms(self, name: tuple[str, str], from_ms: int) -> int:
        """Give the first time from one on that no reading of a sensor has; a flood is not gone through again."""
        first_ms, last_ms = self._taken_run.get(name, (from_ms, from_ms - 1))
        if not first_ms <= from_ms <= last_ms + 1:
            first_ms, last_ms = from_ms, from_ms - 1
        free_ms = last_ms + 1
        while self._known_value(name, free_ms) is not None:
            free_ms += 1
        self._taken_run[name] = (first_ms, free_ms)
        return free_ms

    def _is_another(self, watch: Watch, raw: RawReading, known: float, *, fault: bool) -> bool:
        """Say whether a reading whose stated time is stored already is another one, and count what it is.

        The first value wins, but not over water: a float that says *down* and *up* in one second is up. And a sensor
        whose clock is at fault may state the same time for ever.
        """
        if fault:
            return True
        self._count("duplicate" if known == raw.value else "conflict")
        return known != raw.value and watch.says_water(raw.sensor, raw.value)

    def _known_value(self, name: tuple[str, str], stated_ms: int) -> float | None:
        newest = self._newest.get(name)
        if newest is None:
            newest = self._stored.newest_stated_ms(*name)
            if newest is None:
                return None
            self._newest[name] = newest
        if stated_ms > newest:
            return None
        pending = self._pending_value(name, stated_ms)
        return self._stored.value_at(*name, stated_ms) if pending is None else pending

    def _pending_value(self, name: tuple[str, str], stated_ms: int) -> float | None:
        """Give the value of a reading of this batch. Few are asked for: what came since the last is noted only then."""
        readings, pending = self._batch.readings, self._pending
        for place in range(self._pending_to, len(readings)):
            reading = readings[place][1]
            pending[reading.vessel, reading.sensor, reading.stated_ms] = reading.value
        self._pending_to = len(readings)
        return pending.get((*name, stated_ms))

    def _is_summed_up(self, name: tuple[str, str], stated_ms: int) -> bool:
        newest = self._newest.get(name)
        return newest is not None and stated_ms <= newest and self._stored.is_summed_up(*name, stated_ms)

    def _fold_record(self, version: RecordVersion) -> None:
        watch = self.watches.get(version.vessel.id)
        if watch is not None:
            self._fold(watch, version)
            return
        self.watches[version.vessel.id] = Watch(version.vessel, version.at_ms)
        # Said again for her: what the yard knew before she came stands before her first input, where no start looks.
        known = self.surroundings
        if known.calendar != YardCalendar():
            self._surround(CalendarVersion(known.calendar, version.at_ms))
        if known.forecast is not None:
            self._surround(ForecastVersion(known.forecast, version.at_ms))

    def _surround(self, item: CalendarVersion | ForecastVersion) -> None:
        self.surroundings = surrounded(self.surroundings, item)
        self._seq += 1
        self._batch.inputs.append((self._seq, item))
        for watch in self.watches.values():
            self._fold(watch, item)
            self._unsaved.add(watch.record.id)

    def _fold(self, watch: Watch, item: Input) -> None:
        outcome = watch.fold(item, self._outcome)
        if outcome.events or outcome.alerts or outcome.settled or outcome.unknown:  # most inputs bring about nothing
            self._keep(watch, outcome)

    def _keep(self, watch: Watch, outcome: Outcome) -> None:
        self._outcome = Outcome()
        batch = self._batch
        if outcome.settled:
            batch.settled += outcome.settled
        if outcome.unknown:
            self._unknown.add(watch.record.id)
        if outcome.alerts:
            # Copied, since the watch goes on with its own while the batch waits for its commit.
            batch.alerts |= {key: replace(alert) for key, alert in outcome.alerts.items()}
            self._unsaved.add(watch.record.id)
        for event in outcome.events:
            last_seq, last_place, _ = batch.events[-1] if batch.events else (0, 0, None)
            place = last_place + 1 if last_seq == self._seq else 0
            batch.events.append((self._seq, place, event))

    def _count(self, what: str) -> None:
        self._batch.counts[what] = self._batch.counts.get(what, 0) + 1


def _swept(inputs: Iterable[tuple[int, Input]]) -> Iterator[tuple[int, Input]]:
    """Give inputs on; what versions of records leave behind, each a set of rules tied in a ring, is cleared away."""
    versions = 0
    for seq, item in inputs:
        yield seq, item
        if isinstance(item, RecordVersion):
            versions += 1
            if versions % SWEPT_AFTER == 0:
                gc.collect(0)


def _refusal(watch: Watch, command: AlertCommand | VesselCommand) -> str:
    """Say why a command cannot be carried out now, empty where it can."""
    if isinstance(command, GateWord):
        early = command.at_ms < watch.laid_up_ms
        return "it was said before her lay-up: put its time right" if early else gate_refusal(command)
    if not isinstance(command, VisitReport):
        return watch.refusal(command)
    if not command.actor.strip():
        return "nobody is named who was aboard: give a name"
    return "the visit was before her lay-up: put its time right" if command.at_ms < watch.laid_up_ms else ""


def _cannot_be_watched(version: RecordVersion) -> str:
    """Say why no watch can be made by a record, empty where one can: a figure in it may lie beyond what rules know."""
    laid_up = version.vessel.laid_up
    if not LAY_UP_FROM <= laid_up < LAY_UP_TO:
        return f"nothing can be watched by this record: she was laid up in the year {laid_up.year}: put it right"
    try:
        Watch(version.vessel, version.at_ms)
    except (ValueError, ArithmeticError) as error:
        return f"nothing can be watched by this record: {error}"
    return ""


def surrounded(before: Surroundings, item: CalendarVersion | ForecastVersion) -> Surroundings:
    """Give what is known of the yard after an input that changes it."""
    change = {"calendar": item.calendar} if isinstance(item, CalendarVersion) else {"forecast": item.forecast}
    return before.model_copy(update=change)

"""Frost: is every liquid aboard above the temperature she was protected to, now and until somebody comes again?

For each liquid system and battery the rule holds the temperature where it is against the point it freezes at: the
tested point of a treated system, the natural one of a wet system, 0 degC where the state is not proven, and the
electrolyte's at the lowest charge that the volts allow. It looks ahead by the space's own fitted lag behind outside
air: along the forecast where there is one, else along the last days' round of day and night, else along the slope of
the last hours. What a thaw lets out is looked for over three days after a freeze. A system drained with every drain
probed holds nothing that can freeze and is not watched.
"""

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import NamedTuple

from monitor.model.equipment import Battery
from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Priority, Sure
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Mode, Vessel
from monitor.rules import frost_findings as say
from monitor.rules.exposure import Exposures
from monitor.rules.frost_ahead import Low
from monitor.rules.frost_grade import error_k, grade, is_wet, room_of
from monitor.rules.frost_guard import ANY, Guard, Room
from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_look import Look, WorkingDays
from monitor.rules.frost_outside import SLOPE, Foretold, Outside
from monitor.rules.frost_over import note_said, over
from monitor.rules.frost_things import STALE_INTERVALS, Freezable, freezables
from monitor.rules.last_word import LastWord
from monitor.rules.recent import Recent, remember
from monitor.rules.rule import HOUR_MS, MINUTE_MS, SECOND_MS, Changes, Rule
from monitor.science.cooling import LagFit, add_temperatures
from monitor.science.electrolyte import electrolyte_freezing_point_degc, sg_from_cell_rested_v

_SG_SPAN = (1.100, 1.265)
_CELL_V = 2.0
_SLOPE_OVER_MS, _SLOPE_SPACING_MS = LIMITS.ms("slope_over"), LIMITS.ms("slope_spacing")
_LAG_APART_MS, _LAG_SPACING_H = LIMITS.ms("lag_apart"), LIMITS["lag_spacing"]
_COLDEST, _HOTTEST = LIMITS["coldest"], LIMITS["hottest"]
_THAW_WATCH_MS = LIMITS.ms("thaw_watch")
_VOLTS_STALE_MS = LIMITS.ms("volts_stale")
_STALE_MS, _OUTSIDE_STALE_MS = LIMITS.ms("stale"), LIMITS.ms("outside_stale")
_ON_MS, _OFF_MS = LIMITS.ms("on_delay"), LIMITS.ms("off_delay")
_NO_VOLTS = LIMITS["no_volts"]
_ISOLATED_V = 0.999 * _NO_VOLTS
_MOVED_K = LIMITS["looked_again"]
_VOLTS_MOVED = LIMITS["volts_moved"]


@dataclass(slots=True)
class FrostState:
    """What the rule keeps. It is bounded by what stands aboard.

    Attributes:
        temperatures: the last hours of each thermometer.
        fits: how each thermometer's space follows outside air.
        outside: outside air, and the shape of its days.
        volts: last volts by sensor.
        held: the priority held, by subject.
        exposures: what froze, how deep, and when it thawed.
        in_reach: whether something came near enough to be looked at each hour.
        hour_turns: whether the next whole hour itself, as the horizons move on, could change what is said.
        guard: between which readings nothing that is said can change.
        exposed: what was measured below its freezing point, errors counted in, while it is told of.
        told: what was told last, by subject, until its alert has had time to clear.
    """

    temperatures: dict[str, Recent] = field(default_factory=dict)
    fits: dict[str, LagFit] = field(default_factory=dict)
    outside: Outside = field(default_factory=Outside)
    volts: dict[str, Seen] = field(default_factory=dict)
    held: dict[str, Priority] = field(default_factory=dict)
    exposures: Exposures = field(default_factory=Exposures)
    in_reach: bool = False
    hour_turns: bool = False
    guard: Guard = field(default_factory=Guard)
    exposed: list[str] = field(default_factory=list)
    told: dict[str, LastWord] = field(default_factory=dict)


class _Judged(NamedTuple):
    finding: Finding | None
    margin_k: float | None


_NOTHING = _Judged(None, None)


class Frost(Rule[FrostState]):
    """Margin of every liquid system and battery against its own freezing point, now and ahead."""

    name = "frost"
    version = 7
    state_type = FrostState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        in_commission = record.mode is Mode.IN_COMMISSION
        self.watched = () if in_commission else tuple(freezables(record, LIMITS["battery_error"]))
        self.by_probe: dict[str, list[Freezable]] = {}
        self.stale_ms: dict[str, int] = {}
        for thing in self.watched:
            if thing.sensor is not None:
                self.by_probe.setdefault(thing.sensor, []).append(thing)
                self.stale_ms[thing.sensor] = max(_STALE_MS, STALE_INTERVALS * thing.interval_ms)
        self.by_volts = {f.battery.voltage_sensor for f in self.watched if f.battery and f.battery.voltage_sensor}
        outside = record.sensor(record.outside_sensor) if record.outside_sensor and self.watched else None
        self.outside_sensor = None if outside is None else outside.id
        interval_ms = 0 if outside is None else round(outside.interval_s * SECOND_MS)
        self.outside_stale_ms = max(_OUTSIDE_STALE_MS, STALE_INTERVALS * interval_ms)
        self.afloat = record.berth is not None
        self.sensors = frozenset(self.by_probe) | self.by_volts | frozenset(filter(None, [self.outside_sensor]))
        self._days = WorkingDays()
        self._laid_out: tuple[Forecast, Foretold] | None = None

    @property
    def foretold(self) -> Foretold | None:
        """The forecast laid out for looking up, None where there is none."""
        forecast = self.surroundings.forecast
        if forecast is None:
            return None
        if self._laid_out is None or self._laid_out[0] is not forecast:
            self._laid_out = (forecast, Foretold(forecast))
        return self._laid_out[1]

    def see(self, state: FrostState, reading: Reading) -> Changes:
        """Take a temperature or a battery's volts."""
        sensor, at_ms, value = reading.sensor, reading.event_ms, reading.value
        if sensor in self.by_volts:
            state.volts[sensor] = Seen(sensor, at_ms, value)
            return Changes.NOTHING if state.guard.holds(sensor, at_ms, value) else Changes.ANYTHING
        if not _COLDEST <= value <= _HOTTEST:
            return Changes.NOTHING  # a bad sensor or a fire: nothing that frost could be told from
        changes = Changes.NOTHING if state.guard.holds(sensor, at_ms, value) else Changes.ANYTHING
        if sensor == self.outside_sensor:
            state.outside.note(at_ms, value)
        things = self.by_probe.get(sensor)
        if things is None:
            return changes
        recent = state.temperatures.setdefault(sensor, Recent())
        remember(recent, at_ms, value, span_ms=_SLOPE_OVER_MS, spacing_ms=_SLOPE_SPACING_MS)
        if sensor != self.outside_sensor:
            self._fit(state, sensor, at_ms, value)
        for thing in things:
            freeze = self._freeze_degc(state, thing)
            if freeze is None:
                continue
            if state.exposures.note(thing.subject, at_ms, value, freeze):
                changes = Changes.ANYTHING
            if value - freeze < error_k(thing) and thing.subject not in state.exposed:
                # What that did only a look aboard tells, however warm it is by then.
                state.exposed.append(thing.subject)
                changes = Changes.ANYTHING
        return changes

    def see_late(self, state: FrostState, reading: Reading) -> None:
        """Note what froze while we were not heard."""
        for thing in self.by_probe.get(reading.sensor, ()):
            if thing.freeze_degc is not None:
                state.exposures.note_late(thing.subject, reading.event_ms, reading.value, thing.freeze_degc)

    def judge(self, state: FrostState, now_ms: int) -> list[Finding]:
        """Grade every freezable thing; the one with the least margin is marked the weakest."""
        found = []
        margins: dict[str, float] = {}
        look = Look(
            now_ms,
            state.outside,
            self.outside_stale_ms,
            self.foretold,
            self.surroundings.calendar,
            self._days,
            afloat=self.afloat,
        )
        state.in_reach = state.hour_turns = False
        heard_ms = max([recent.points[-1][0] for recent in state.temperatures.values()] + [state.outside.at_ms or 0])
        state.guard.begin(heard_ms, None if look.foretold is None else look.foretold.next_ms(heard_ms))
        for thing in self.watched:
            finding, margin = self._judge_one(state, thing, look)
            if margin is not None:
                margins[thing.subject] = margin
            self._hold(state, thing, finding)
            finding = self._and_what_was(state, thing, finding, now_ms)
            if finding is not None:
                found.append(finding)
        for sensor in (*state.temperatures, *state.volts):
            state.guard.heard(sensor)
        if self.outside_sensor is not None and state.outside.at_ms is not None:
            state.guard.heard(self.outside_sensor)
        weakest = min(margins, key=margins.__getitem__, default=None)
        for finding in found:
            finding.facts["weakest"] = finding.subject == weakest
        return found

    @staticmethod
    def _hold(state: FrostState, thing: Freezable, finding: Finding | None) -> None:
        if finding is None:
            state.held.pop(thing.subject, None)
            state.exposed = [subject for subject in state.exposed if subject != thing.subject]
        elif finding.sure is not Sure.NOT_KNOWN:
            state.held[thing.subject] = finding.priority

    def _and_what_was(
        self, state: FrostState, thing: Freezable, finding: Finding | None, now_ms: int
    ) -> Finding | None:
        """Give what stands together with what froze before it; where nothing stands, that what was told is over."""
        after = self._after_a_freeze(state, thing, now_ms)
        if after is not None:
            # The next night cannot wait for the last one: of equals what is to come is told, with what has been.
            ahead = finding is not None and finding.priority >= after.priority
            finding = say.after_a_freeze(finding, after) if finding is not None and ahead else after
        if finding is None:
            return self._over(state, thing, now_ms)
        if finding.sure is not Sure.NOT_KNOWN:
            note_said(state.told, finding)
        return finding

    def next_look(self, state: FrostState, now_ms: int) -> int | None:
        """Look again when a temperature grows too old to go by, when a thaw's watch is over, and each hour in reach.

        While something is in reach the horizon moves with the time, and with it what is foretold: the whole hours, and
        the times by which a visit is to be asked for, are looked at.
        """
        ends = [
            recent.points[-1][0] + self.stale_ms[sensor] + MINUTE_MS
            for sensor, recent in state.temperatures.items()
            if sensor in self.stale_ms
        ]
        ends += [volts.at_ms + _VOLTS_STALE_MS + MINUTE_MS for volts in state.volts.values()]
        for exposure in state.exposures.systems.values():
            thawed_ms = exposure.thawed_since(now_ms, _THAW_WATCH_MS)
            if thawed_ms is not None:
                ends.append(thawed_ms + _THAW_WATCH_MS + MINUTE_MS)
        ends += [word.ends_ms for word in state.told.values() if word.ends_ms is not None]
        if state.in_reach:
            # Where the hour itself turns nothing, its first readings are waited for.
            ends.append((now_ms // HOUR_MS + 1) * HOUR_MS + (0 if state.hour_turns else MINUTE_MS))
            ends.append(self._days.next_notice_ms(self.surroundings.calendar, now_ms) or now_ms)
        return min((end for end in ends if end > now_ms), default=None)

    def _fit(self, state: FrostState, sensor: str, at_ms: int, value: float) -> None:
        outside = state.outside
        if outside.at_ms is None or abs(at_ms - outside.at_ms) > _LAG_APART_MS:
            return
        fit, at_h = state.fits.get(sensor) or LagFit(), at_ms / HOUR_MS
        if fit.at_h is None or at_h - fit.at_h >= _LAG_SPACING_H:
            state.fits[sensor] = add_temperatures(fit, at_h, value, outside.degc)

    def _judge_one(self, state: FrostState, thing: Freezable, look: Look) -> _Judged:
        freeze, guard = self._freeze_degc(state, thing), state.guard
        volts = self._volts(state, thing)
        if freeze is None:
            if volts is not None:
                guard.keep(volts.sensor, -ANY, _ISOLATED_V)
            return _NOTHING
        if volts is not None and look.now_ms - volts.at_ms > _VOLTS_STALE_MS:
            # Not known, and not gone: what was near its freezing point has not thawed because its meter died.
            guard.drop()
            return _Judged(say.charge_not_known(thing, freeze, volts), None)
        sensor = thing.sensor
        recent = None if sensor is None else state.temperatures.get(sensor)
        if sensor is None or recent is None:
            return _Judged(say.not_known(thing, freeze, None), None)
        last = Seen(sensor, *recent.points[-1])
        if look.now_ms - last.at_ms > self.stale_ms[sensor]:
            guard.drop()
            return _Judged(say.not_known(thing, freeze, last), None)
        if self._is_out_of_reach(state, thing, freeze, last, look):
            return _NOTHING
        return self._judge_in_reach(state, thing, freeze, last, look)

    def _is_out_of_reach(self, state: FrostState, thing: Freezable, freeze: float, last: Seen, look: Look) -> bool:
        """Say whether neither what is measured nor the coldest that could come is near its freezing point."""
        coldest = look.coldest(thing, last)
        if coldest is None or min(last.value, coldest) <= look.clear_degc(thing, freeze):
            return False
        clear = look.clear_degc(thing, self._guard_volts(state, thing, freeze)[0])
        state.guard.keep(last.sensor, clear)
        if self.outside_sensor is not None:
            # Outside air lowers what could come by no more than its own fall.
            state.guard.keep(self.outside_sensor, state.outside.degc - (coldest - clear))
        return True

    def _judge_in_reach(self, state: FrostState, thing: Freezable, freeze: float, last: Seen, look: Look) -> _Judged:
        held = state.held.get(thing.subject)
        outlook = look.outlook(thing, last, state.temperatures[last.sensor], state.fits.get(last.sensor))
        near = visit = outlook.within(look.visit_h(last))
        if outlook.by != SLOPE:
            state.in_reach = True
            near_h = look.near_h(last)
            near = outlook.within(near_h)
            later = near._replace(degc=outlook.best.lowest_to(near_h + 1.0))
            priority = grade(thing, freeze, last.value, near, visit, held)
            self._guard(state, thing, freeze, last, room_of(thing, freeze, last.value, near, visit, priority))
            moved = room_of(thing, freeze, last.value, later, visit, priority).colder_k
            state.hour_turns = state.hour_turns or moved < _MOVED_K or look.day_turns
        else:
            state.guard.drop()
            if not is_wet(thing):
                # A few hours' slope is too rough to hold a tested margin against: an opened hatch bends it.
                near = Low(last.value, last.value, last.value, 0.0)
            priority = grade(thing, freeze, last.value, near, visit if is_wet(thing) else near, held)
        margin = visit.degc - freeze - error_k(thing)
        if priority is None:
            return _Judged(None, margin)
        asked = look.asked(thing, freeze, last, outlook)
        finding = say.close_to_freezing(thing, last, freeze, priority, outlook, visit, asked)
        latches = thing.subject in state.exposed and priority > Priority.CAUTION
        return _Judged(replace(finding, on_delay_ms=_ON_MS, off_delay_ms=_OFF_MS, latches=latches), margin)

    def _guard(self, state: FrostState, thing: Freezable, freeze: float, last: Seen, room: Room) -> None:
        """Keep to what was graded until its own thermometer, or outside air, has used its share of the room."""
        warm_freeze, cold_freeze = self._guard_volts(state, thing, freeze)
        used = room.used(warm_freeze - freeze, freeze - cold_freeze)
        state.guard.keep(last.sensor, last.value - used.colder_k, last.value + used.warmer_k)
        if self.outside_sensor is not None:
            degc = state.outside.degc
            state.guard.keep(self.outside_sensor, degc - used.colder_k, degc + used.warmer_k)

    def _guard_volts(self, state: FrostState, thing: Freezable, freeze: float) -> tuple[float, float]:
        """Keep a battery's volts near what they are; give where it freezes at the least and at the most of them."""
        volts = self._volts(state, thing)
        if thing.battery is None or volts is None:
            return freeze, freeze
        least, most = (volts.value + sign * _VOLTS_MOVED * thing.battery.nominal_v for sign in (-1, 1))
        state.guard.keep(volts.sensor, max(least, _NO_VOLTS), most)
        return _acid_freezes_degc(thing.battery, least), _acid_freezes_degc(thing.battery, most)

    @staticmethod
    def _volts(state: FrostState, thing: Freezable) -> Seen | None:
        return None if thing.battery is None else state.volts.get(thing.battery.voltage_sensor or "")

    def _freeze_degc(self, state: FrostState, thing: Freezable) -> float | None:
        if thing.battery is None:
            return thing.freeze_degc
        volts = self._volts(state, thing)
        if volts is None or volts.value < _NO_VOLTS:
            # An isolator that is off says nothing of the battery behind it; the battery rule tells of it.
            return None
        return _acid_freezes_degc(thing.battery, volts.value)

    def _over(self, state: FrostState, thing: Freezable, now_ms: int) -> Finding | None:
        recent = state.temperatures.get(thing.sensor or "")
        last = None if recent is None or thing.sensor is None else Seen(thing.sensor, *recent.points[-1])
        return over(state.told, thing, last, self._freeze_degc(state, thing), now_ms)

    def _after_a_freeze(self, state: FrostState, thing: Freezable, now_ms: int) -> Finding | None:
        """Say what froze while we were not heard, or what has thawed, for as long as its damage may still show."""
        exposure = state.exposures.systems.get(thing.subject)
        if exposure is None:
            return None
        unheard = exposure.unheard
        if unheard is not None and now_ms - unheard.to_ms > _THAW_WATCH_MS:
            exposure.unheard = unheard = None
        if unheard is not None and thing.freeze_degc is not None:
            return say.froze_unheard(thing, thing.freeze_degc, unheard)
        if exposure.thawed_since(now_ms, _THAW_WATCH_MS) is None:
            return None
        finding = say.thawed(thing, exposure, watch_until=(exposure.thawed_ms or now_ms) + _THAW_WATCH_MS)
        return replace(finding, off_delay_ms=_OFF_MS)


def _acid_freezes_degc(battery: Battery, volts: float) -> float:
    return _cell_freezes_degc(volts / round(battery.nominal_v / _CELL_V))


@lru_cache(maxsize=1024)
def _cell_freezes_degc(volts: float) -> float:
    # A meter says the same few hundred figures all winter.
    sg = sg_from_cell_rested_v(min(max(volts, _SG_SPAN[0] + 0.84), _SG_SPAN[1] + 0.84))
    return electrolyte_freezing_point_degc(min(max(sg, _SG_SPAN[0]), _SG_SPAN[1]))

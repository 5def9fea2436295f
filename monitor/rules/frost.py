"""Frost: is every liquid aboard still above the temperature she was protected to?

For each liquid system and battery the rule holds the temperature where it is against the point it freezes at: the
tested point of a treated system, the natural one of a wet system, 0 degC where the state is not proven, and the
electrolyte's at the lowest charge that the volts allow. *Foretold* is the slope of the last hours carried ahead.
A system drained with every drain probed holds nothing that can freeze and is not watched.
"""

from dataclasses import dataclass, field, replace

from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.frost_findings import close_to_freezing, froze_unheard, not_known
from monitor.rules.frost_things import STALE_INTERVALS, Freezable, freezables
from monitor.rules.recent import Recent, remember, slope_per_hour
from monitor.rules.rule import HOUR_MS, MINUTE_MS, Limit, Limits, Rule, held_step
from monitor.science.electrolyte import electrolyte_freezing_point_degc, sg_from_cell_rested_v

_OURS = "common practice, no source"

_SG_SPAN = (1.100, 1.265)
_CELL_V = 2.0


@dataclass(slots=True)
class Exposure:
    """A time below the freezing point that came to our ears late."""

    from_ms: int
    to_ms: int
    lowest_degc: float


@dataclass(slots=True)
class FrostState:
    """What the rule keeps: recent temperatures by sensor, last volts by sensor, what it holds and what it missed."""

    temperatures: dict[str, Recent] = field(default_factory=dict)
    volts: dict[str, Seen] = field(default_factory=dict)
    held: dict[str, Priority] = field(default_factory=dict)
    unheard: dict[str, Exposure] = field(default_factory=dict)


class Frost(Rule[FrostState]):
    """Margin of every liquid system and battery against its own freezing point."""

    name = "frost"
    version = 1
    state_type = FrostState
    limits = Limits(
        Limit("margin_caution", 5.0, "K", _OURS, "room for one cold night before harm", "retest by refractometer"),
        Limit("margin_warning", 0.0, "K", _OURS, "inside the errors of tester and thermometer", "add heat or strength"),
        Limit("margin_deadband", 0.5, "K", _OURS, "more than a thermometer's noise", "-"),
        Limit("wet_alarm", 1.0, "K", _OURS, "a pipe left wet has no margin to lose", "drain it before the night"),
        Limit("wet_deadband", 1.0, "K", _OURS, "a foretold figure swings more than a measured one", "-"),
        Limit("carried", 6.0, "h", "invented", "an evening's warning of the night's minimum", "-"),
        Limit("slope_over", 3.0, "h", "invented", "long enough to smooth noise, short enough to see dusk", "-"),
        Limit("slope_spacing", 5.0, "min", "invented", "bounds what is kept of a fast sensor", "-"),
        Limit("stale", 3.0, "h", _OURS, "a space of thick laminate moves about 1 K in an hour", "-"),
        Limit("battery_error", 3.0, "K", _OURS, "0.03 V is 0.005 of specific gravity, 1-3 K at low charge", "-"),
        Limit("no_volts", 1.0, "V", _OURS, "no battery is this flat: the meter sees nothing", "look at the isolator"),
        Limit("volts_stale", 7.0, "d", _OURS, "a sound battery's charge moves by some per cent in a week", "-"),
        Limit("on_delay", 20.0, "min", _OURS, "a hatch opened for a moment is no frost", "-"),
        Limit("off_delay", 6.0, "h", _OURS, "a margin that came back at noon goes again at dusk", "-"),
        Limit("unheard_stands", 72.0, "h", _OURS, "frost damage shows at the thaw", "inspect the system"),
    )

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.watched = (
            () if record.mode is Mode.IN_COMMISSION else tuple(freezables(record, self.limits["battery_error"]))
        )
        self.by_probe = {
            f.sensor: max(self.limits.ms("stale"), STALE_INTERVALS * f.interval_ms)
            for f in self.watched
            if f.sensor is not None
        }
        self.by_volts = {f.battery.voltage_sensor for f in self.watched if f.battery and f.battery.voltage_sensor}
        self.sensors = frozenset(self.by_probe) | self.by_volts

    def see(self, state: FrostState, reading: Reading) -> None:
        """Take a temperature or a battery's volts."""
        if reading.sensor in self.by_volts:
            state.volts[reading.sensor] = Seen(reading.sensor, reading.event_ms, reading.value)
        else:
            recent = state.temperatures.setdefault(reading.sensor, Recent())
            remember(
                recent,
                reading.event_ms,
                reading.value,
                span_ms=self.limits.ms("slope_over"),
                spacing_ms=self.limits.ms("slope_spacing"),
            )

    def see_late(self, state: FrostState, reading: Reading) -> None:
        """Note what froze while we were not heard."""
        for thing in self.watched:
            freeze = thing.freeze_degc
            if thing.sensor != reading.sensor or freeze is None or reading.value > freeze:
                continue
            at, known = reading.event_ms, state.unheard.get(thing.subject)
            if known is None:
                state.unheard[thing.subject] = Exposure(at, at, reading.value)
            else:
                known.from_ms, known.to_ms = min(known.from_ms, at), max(known.to_ms, at)
                known.lowest_degc = min(known.lowest_degc, reading.value)

    def judge(self, state: FrostState, now_ms: int) -> list[Finding]:
        """Grade every freezable thing; the one with the least margin is marked the weakest."""
        found = []
        margins: dict[str, float] = {}
        for thing in self.watched:
            finding, margin = self._judge_one(state, thing, now_ms)
            if margin is not None:
                margins[thing.subject] = margin
            if finding is None:
                state.held.pop(thing.subject, None)
            elif finding.sure is not Sure.NOT_KNOWN:
                state.held[thing.subject] = finding.priority
            missed = self._unheard(state, thing, now_ms)
            worst = missed if finding is None or (missed and missed.priority > finding.priority) else finding
            if worst is not None:
                found.append(worst)
        weakest = min(margins, key=margins.__getitem__, default=None)
        for finding in found:
            finding.facts["weakest"] = finding.subject == weakest
        return found

    def next_look(self, state: FrostState, now_ms: int) -> int | None:
        """Look again when a temperature grows too old to go by, and when a missed exposure has stood long enough."""
        stands = self.limits.ms("unheard_stands")
        ends = [
            recent.points[-1][0] + self.by_probe[sensor] + MINUTE_MS
            for sensor, recent in state.temperatures.items()
            if sensor in self.by_probe
        ]
        ends += [e.to_ms + stands + MINUTE_MS for e in state.unheard.values()]
        return min((end for end in ends if end > now_ms), default=None)

    def _judge_one(self, state: FrostState, thing: Freezable, now_ms: int) -> tuple[Finding | None, float | None]:
        recent = None if thing.sensor is None else state.temperatures.get(thing.sensor)
        freeze = self._freeze_degc(state, thing, now_ms)
        if freeze is None:
            return None, None
        last = None
        if thing.sensor is not None and recent is not None:
            last = Seen(thing.sensor, *recent.points[-1])
        if recent is None or last is None or now_ms - last.at_ms > self.by_probe[last.sensor]:
            return not_known(thing, freeze, last), None
        fall = min(slope_per_hour(recent, at_least_ms=HOUR_MS) or 0.0, 0.0)
        carried = self.limits["carried"]
        margin = last.value - freeze - thing.error_k - thing.sensor_error_k
        lowest = min(last.value, last.value + fall * carried)
        priority = self._grade(thing, lowest - freeze, margin, state.held.get(thing.subject))
        if priority is None:
            return None, margin
        finding = close_to_freezing(
            thing, last, freeze_degc=freeze, priority=priority, fall_k_per_h=fall, carried_h=carried
        )
        on_ms, off_ms = self.limits.ms("on_delay"), self.limits.ms("off_delay")
        return replace(finding, on_delay_ms=on_ms, off_delay_ms=off_ms), margin

    def _grade(self, thing: Freezable, lowest: float, margin: float, held: Priority | None) -> Priority | None:
        if thing.how in {"wet", "not proven"}:
            # With no tested margin to lose, the figure that decides is the foretold one.
            urgent = Priority.ALARM if thing.how == "wet" else Priority.WARNING
            steps = [(self.limits["wet_alarm"], urgent), (self.limits["margin_caution"], Priority.CAUTION)]
            return held_step(lowest, steps, held, self.limits["wet_deadband"])
        error = thing.error_k + thing.sensor_error_k
        steps = [
            (self.limits["margin_caution"], Priority.CAUTION),
            (self.limits["margin_warning"], Priority.WARNING),
            (-error, Priority.ALARM),
        ]
        return held_step(margin, steps, held, self.limits["margin_deadband"])

    def _freeze_degc(self, state: FrostState, thing: Freezable, now_ms: int) -> float | None:
        if thing.battery is None:
            return thing.freeze_degc
        volts = state.volts.get(thing.battery.voltage_sensor or "")
        if volts is None or volts.value < self.limits["no_volts"]:
            # An isolator that is off says nothing of the battery behind it; the battery rule tells of it.
            return None
        if now_ms - volts.at_ms > self.limits.ms("volts_stale"):
            return None
        cells = round(thing.battery.nominal_v / _CELL_V)
        sg = sg_from_cell_rested_v(min(max(volts.value / cells, _SG_SPAN[0] + 0.84), _SG_SPAN[1] + 0.84))
        return electrolyte_freezing_point_degc(min(max(sg, _SG_SPAN[0]), _SG_SPAN[1]))

    def _unheard(self, state: FrostState, thing: Freezable, now_ms: int) -> Finding | None:
        exposure = state.unheard.get(thing.subject)
        if exposure is None or thing.freeze_degc is None:
            return None
        if now_ms - exposure.to_ms > self.limits.ms("unheard_stands"):
            del state.unheard[thing.subject]
            return None
        return froze_unheard(
            thing,
            thing.freeze_degc,
            from_ms=exposure.from_ms,
            to_ms=exposure.to_ms,
            lowest_degc=exposure.lowest_degc,
        )

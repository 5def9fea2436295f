"""Frost: is every liquid aboard still above the temperature she was protected to?

For each liquid system and battery the rule holds the temperature where it is against the point it freezes at: the
tested point of a treated system, the natural one of a wet system, 0 degC where the state is not proven, and the
electrolyte's at the lowest charge that the volts allow. *Foretold* is the slope of the last hours carried ahead.
A system drained with every drain probed holds nothing that can freeze and is not watched.
"""

from dataclasses import dataclass, field

from monitor.model.equipment import Battery, Chemistry, Liquid, LiquidSystem, SystemState, Tester
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.recent import Recent, remember, slope_per_hour
from monitor.rules.rule import HOUR_MS, MINUTE_MS, Limit, Limits, Rule, held_step
from monitor.science.electrolyte import electrolyte_freezing_point_degc, sg_from_cell_rested_v
from monitor.science.freezing import sea_water_freezing_point_degc

_OURS = "common practice, no source"

TESTER_ERROR_K = {Tester.REFRACTOMETER: 1.0, Tester.BALL: 5.0, Tester.LABORATORY: 0.5}
"""ASTM D3321 for the refractometer; common practice for the ball tester (5 K steps); from memory for a laboratory."""

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


@dataclass(frozen=True, slots=True)
class Freezable:
    """One thing aboard that can freeze, as the record has it.

    Attributes:
        how: ``treated``, ``wet``, ``not proven`` or ``battery``.
        freeze_degc: where it freezes; for a battery it follows the volts and this is None.
        error_k: error of that figure.
        own_probe: whether the thermometer is its own or the outside air's stands in.
    """

    subject: str
    name: str
    how: str
    sensor: str | None
    sensor_error_k: float
    own_probe: bool
    freeze_degc: float | None
    error_k: float
    battery: Battery | None = None


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
        Limit("on_delay", 20.0, "min", _OURS, "a hatch opened for a moment is no frost", "-"),
        Limit("off_delay", 6.0, "h", _OURS, "a margin that came back at noon goes again at dusk", "-"),
        Limit("unheard_stands", 72.0, "h", _OURS, "frost damage shows at the thaw", "inspect the system"),
    )

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.watched = () if record.mode is Mode.IN_COMMISSION else tuple(_freezables(record))
        self.by_probe = {f.sensor for f in self.watched if f.sensor is not None}
        self.by_volts = {f.battery.voltage_sensor for f in self.watched if f.battery and f.battery.voltage_sensor}
        self.sensors = frozenset(self.by_probe | self.by_volts)

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
        stale, stands = self.limits.ms("stale"), self.limits.ms("unheard_stands")
        ends = [r.points[-1][0] + stale + MINUTE_MS for r in state.temperatures.values() if r.points]
        ends += [e.to_ms + stands + MINUTE_MS for e in state.unheard.values()]
        return min((end for end in ends if end > now_ms), default=None)

    def _judge_one(self, state: FrostState, thing: Freezable, now_ms: int) -> tuple[Finding | None, float | None]:
        recent = None if thing.sensor is None else state.temperatures.get(thing.sensor)
        freeze = self._freeze_degc(state, thing)
        if freeze is None:
            return None, None
        if thing.sensor is None or recent is None or now_ms - recent.points[-1][0] > self.limits.ms("stale"):
            return self._not_known(thing, freeze, recent), None
        at_ms, t_degc = recent.points[-1]
        slope = slope_per_hour(recent, at_least_ms=HOUR_MS)
        fall = min(slope or 0.0, 0.0)
        foretold = t_degc + fall * self.limits["carried"]
        error = thing.error_k + thing.sensor_error_k
        margin = t_degc - freeze - error
        held = state.held.get(thing.subject)
        priority = self._grade(thing, t_degc, foretold, margin, freeze, held)
        if priority is None:
            return None, margin
        harm = None
        if fall < 0.0 or t_degc <= freeze:
            low = max(t_degc - freeze - error, 0.0) / -fall * 3600 if fall < 0.0 else 0.0
            high = max(t_degc - freeze + error, 0.0) / -fall * 3600 if fall < 0.0 else None
            harm = TimeToHarm(low, high)
        frozen = t_degc <= freeze
        finding = Finding(
            rule=self.name,
            subject=thing.subject,
            kind="wet" if thing.how in {"wet", "not proven"} else "battery" if thing.battery else "margin",
            priority=priority,
            figure=Figure(round(t_degc, 1), round(freeze, 1), "degC"),
            harm=harm,
            sure=Sure.LIKELY if thing.own_probe and error <= _GOOD_ERROR_K else Sure.POSSIBLE,
            causes=_CAUSES[thing.how],
            first=_FIRST_FROZEN[thing.how] if frozen else _FIRST[thing.how],
            never=_NEVER[thing.how],
            rests_on=(Seen(thing.sensor, at_ms, t_degc),),
            facts={
                "name": thing.name,
                "how": thing.how,
                "t_degc": round(t_degc, 1),
                "protected_to_degc": round(freeze, 1),
                "margin_k": round(margin, 1),
                "error_k": round(error, 1),
                "foretold_degc": round(foretold, 1),
                "carried_h": self.limits["carried"],
                "own_probe": thing.own_probe,
                "frozen": frozen,
            },
            on_delay_ms=self.limits.ms("on_delay"),
            off_delay_ms=self.limits.ms("off_delay"),
        )
        return finding, margin

    def _grade(
        self, thing: Freezable, t_degc: float, foretold: float, margin: float, freeze: float, held: Priority | None
    ) -> Priority | None:
        if thing.how in {"wet", "not proven"}:
            # With no tested margin to lose, the figure that decides is the foretold one.
            lowest = min(t_degc, foretold) - freeze
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

    def _freeze_degc(self, state: FrostState, thing: Freezable) -> float | None:
        if thing.battery is None:
            return thing.freeze_degc
        volts = state.volts.get(thing.battery.voltage_sensor or "")
        if volts is None or volts.value < self.limits["no_volts"]:
            # An isolator that is off says nothing of the battery behind it; the battery rule tells of it.
            return None
        cells = round(thing.battery.nominal_v / _CELL_V)
        sg = sg_from_cell_rested_v(min(max(volts.value / cells, _SG_SPAN[0] + 0.84), _SG_SPAN[1] + 0.84))
        return electrolyte_freezing_point_degc(min(max(sg, _SG_SPAN[0]), _SG_SPAN[1]))

    def _not_known(self, thing: Freezable, freeze: float, recent: Recent | None) -> Finding:
        last = recent.points[-1] if recent is not None else None
        return Finding(
            rule=self.name,
            subject=thing.subject,
            kind="not known",
            priority=Priority.CAUTION,
            figure=Figure(None, round(freeze, 1), "degC"),
            harm=None,
            sure=Sure.NOT_KNOWN,
            causes=("no_temperature",),
            first=("read_temperature_aboard",),
            never=(),
            rests_on=() if last is None or thing.sensor is None else (Seen(thing.sensor, last[0], last[1]),),
            facts={"name": thing.name, "how": thing.how, "protected_to_degc": round(freeze, 1)},
        )

    def _unheard(self, state: FrostState, thing: Freezable, now_ms: int) -> Finding | None:
        exposure = state.unheard.get(thing.subject)
        if exposure is None or thing.freeze_degc is None:
            return None
        if now_ms - exposure.to_ms > self.limits.ms("unheard_stands"):
            del state.unheard[thing.subject]
            return None
        return Finding(
            rule=self.name,
            subject=thing.subject,
            kind="froze unheard",
            priority=Priority.WARNING,
            figure=Figure(round(exposure.lowest_degc, 1), round(thing.freeze_degc, 1), "degC"),
            harm=None,
            sure=Sure.LIKELY,
            causes=_CAUSES[thing.how],
            first=_FIRST_FROZEN[thing.how],
            never=_NEVER[thing.how],
            rests_on=(),
            facts={
                "name": thing.name,
                "how": thing.how,
                "from_ms": exposure.from_ms,
                "to_ms": exposure.to_ms,
                "lowest_degc": round(exposure.lowest_degc, 1),
                "protected_to_degc": round(thing.freeze_degc, 1),
            },
        )


_GOOD_ERROR_K = 2.0

_CAUSES = {
    "treated": ("coolant_weak", "cold_night", "probe_misplaced"),
    "wet": ("left_wet", "cold_night"),
    "not proven": ("state_not_proven", "cold_night"),
    "battery": ("battery_low", "cold_night"),
}
_FIRST = {
    "treated": ("retest_coolant", "strengthen_coolant"),
    "wet": ("drain_system",),
    "not proven": ("prove_system", "drain_system"),
    "battery": ("recharge_battery_ashore",),
}
_FIRST_FROZEN = {
    "treated": ("inspect_for_frost", "keep_engine_stopped"),
    "wet": ("inspect_for_frost", "shut_supply"),
    "not proven": ("inspect_for_frost", "shut_supply"),
    "battery": ("thaw_battery_ashore",),
}
_NEVER = {
    "treated": ("no_start_if_slush", "no_portable_heater", "glycol_poison"),
    "wet": ("no_portable_heater", "no_open_flame_on_pipes"),
    "not proven": ("no_portable_heater", "no_open_flame_on_pipes"),
    "battery": ("no_charging_frozen",),
}


def _freezables(record: Vessel) -> list[Freezable]:
    things = []
    for system in record.liquid_systems:
        point = _system_point(system)
        if point is None:
            continue
        how, freeze, error = point
        sensor = system.sensor or record.outside_sensor
        known = record.sensor(sensor) if sensor else None
        things.append(
            Freezable(
                subject=system.id,
                name=system.name,
                how=how,
                sensor=sensor,
                sensor_error_k=0.0 if known is None else known.accuracy,
                own_probe=system.sensor is not None,
                freeze_degc=freeze,
                error_k=error,
            )
        )
    for battery in record.batteries:
        if battery.chemistry is Chemistry.LIFEPO4 or battery.voltage_sensor is None:
            continue
        sensor = battery.temperature_sensor or record.outside_sensor
        known = record.sensor(sensor) if sensor else None
        things.append(
            Freezable(
                subject=battery.id,
                name=battery.name,
                how="battery",
                sensor=sensor,
                sensor_error_k=0.0 if known is None else known.accuracy,
                own_probe=battery.temperature_sensor is not None,
                freeze_degc=None,
                error_k=Frost.limits["battery_error"],
                battery=battery,
            )
        )
    return things


def _system_point(system: LiquidSystem) -> tuple[str, float, float] | None:
    """Say how a system was left, where it freezes (degC) and the error of that (K); None where nothing can freeze."""
    if system.state is SystemState.TREATED and system.tested_freeze_degc is not None and system.tester is not None:
        return "treated", system.tested_freeze_degc, TESTER_ERROR_K[system.tester]
    if system.state is SystemState.WET:
        measured_salt = system.liquid is Liquid.SEA_WATER and system.salinity_g_per_kg is not None
        salt = system.salinity_g_per_kg if measured_salt and system.salinity_g_per_kg is not None else 0.0
        return "wet", sea_water_freezing_point_degc(salt), 0.0
    if system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains):
        return None
    return "not proven", 0.0, 0.0

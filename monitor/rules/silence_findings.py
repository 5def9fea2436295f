"""What the silence rule says, each kind with its likely causes and steps from the record."""

from collections.abc import Mapping

from monitor.model.equipment import Sensor, Supply
from monitor.model.finding import Figure, Finding
from monitor.model.quantity import Quantity
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Vessel
from monitor.rules.rule import HOUR_MS, MINUTE_MS
from monitor.rules.silence_limits import LIMITS
from monitor.rules.silence_memory import Back, Cell, Heard, Jump, SilenceState, cell_limit_v
from monitor.rules.silence_pairs import Odd

_SUPPLY_CAUSE = {
    Supply.OWN_CELL: "cell_flat",
    Supply.SEALED_PACK: "cell_flat",
    Supply.AHEAD_OF_ISOLATOR: "fuse_or_wire",
    Supply.YARD_MAINS: "no_yard_power",
}
_FIRST_SILENT = ("read_by_hand", "check_supply", "check_radio")
_FIRST_NEVER = ("check_name", *_FIRST_SILENT)
_FIRST_BACK = ("look_what_was_missed", "find_why_silent")
_UP = 0.5
_PRINTED = {
    Quantity.TEMPERATURE: ("degC", 1.0),
    Quantity.HUMIDITY: ("%", 1.0),
    Quantity.LEVEL: ("mm", 1000.0),
    Quantity.PRESSURE: ("hPa", 0.01),
}


def gateway(
    record: Vessel, state: SilenceState, priority: Priority, patience_ms: float, frost: str | None, now_ms: int
) -> Finding:
    """Say that nothing at all is heard from a vessel, or that she is heard again."""
    back, first = state.gateway_back, state.first_ms or now_ms
    newest = state.newest_ms if back is None else back.last_ms
    silent_ms = _until(back, now_ms) - (first if newest is None else newest)
    power_was_off = _mains_was_off(record, state)
    return Finding(
        rule="silence",
        subject="gateway",
        kind="gateway",
        priority=priority,
        figure=Figure(_hours(silent_ms), _hours(patience_ms), "h"),
        harm=None,
        sure=Sure.CERTAIN,
        causes=("shore_power_lost", "gateway_flat", "yard_network")
        if power_was_off
        else ("gateway_flat", "yard_network", "gateway_switched_off"),
        first=("look_if_others_silent", "go_and_see_her", "restart_gateway") if back is None else _FIRST_BACK,
        never=("no_trust_in_last",) if back is None else (),
        facts={
            "afloat": record.berth is not None,
            "silent_h": _hours(silent_ms),
            "last_heard_ms": newest,
            "since_ms": first if newest is None else newest,
            "ever_heard": newest is not None,
            "sensors": len(state.sensors),
            "power_was_off": power_was_off,
            "frost_now": frost == "gateway_frost_now",
            "frost_coming": frost is not None,
            **_again(back, LIMITS.ms("gateway_off")),
        },
        off_delay_ms=LIMITS.ms("gateway_off"),
        over=back is not None,
    )


def silent(
    record: Vessel,
    sensor: Sensor,
    heard: Heard,
    priority: Priority,
    patience_ms: float,
    now_ms: int,
) -> Finding:
    """Say that one sensor is not heard while others are, or that it is heard again."""
    back = heard.back
    last = heard.cadence.last_ms if back is None else back.last_ms
    since = heard.since_ms if last is None else last
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="sensor" if last is not None else "never heard",
        priority=priority,
        figure=Figure(_hours(_until(back, now_ms) - since), _hours(patience_ms), "h"),
        harm=None,
        sure=Sure.CERTAIN,
        causes=(_SUPPLY_CAUSE[sensor.supply], "radio_shaded", "sensor_dead")
        if last is not None
        else ("wrong_name", _SUPPLY_CAUSE[sensor.supply], "radio_shaded"),
        first=_FIRST_BACK if back is not None else _FIRST_SILENT if last is not None else _FIRST_NEVER,
        never=("no_trust_in_last",) if back is None else (),
        rests_on=_rests_on(sensor, heard.cadence.last_ms, heard.value),
        facts=_facts(record, sensor, heard)
        | {"silent_h": _hours(_until(back, now_ms) - since), "last_heard_ms": last, "since_ms": since}
        | _again(back, LIMITS.ms("sensor_off")),
        off_delay_ms=LIMITS.ms("sensor_off"),
        over=back is not None,
    )


def stuck(record: Vessel, sensor: Sensor, heard: Heard, priority: Priority, now_ms: int) -> Finding:
    """Say that a sensor keeps saying one value, beyond its own habit."""
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="stuck",
        priority=priority,
        figure=_figure(sensor, heard.value),
        harm=None,
        sure=Sure.LIKELY,
        causes=("sensor_stuck", "sensor_wet_or_iced", "really_still"),
        first=("read_by_hand", "free_sensor"),
        never=("no_trust_in_value",),
        rests_on=_rests_on(sensor, heard.flagged_ms, heard.value),
        facts=_facts(record, sensor, heard)
        | {"since_ms": heard.same_from_ms, "stuck_h": _hours(now_ms - heard.same_from_ms)},
        off_delay_ms=LIMITS.ms("stuck_off"),
    )


def failing(record: Vessel, sensor: Sensor, heard: Heard, priority: Priority, now_ms: int) -> Finding:
    """Say that a sensor keeps saying what no sound sensor can say."""
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="failing",
        priority=priority,
        figure=_figure(sensor, heard.value),
        harm=None,
        sure=Sure.CERTAIN,
        causes=("wire_broken", "sensor_wet_or_iced", "sensor_dead"),
        first=("read_by_hand", "check_wire"),
        never=("no_trust_in_value",),
        rests_on=_rests_on(sensor, heard.flagged_ms, heard.value),
        facts=_facts(record, sensor, heard)
        | {"since_ms": heard.failing_from_ms, "failing_h": _hours(now_ms - heard.failing_from_ms)},
        off_delay_ms=LIMITS.ms("stuck_off"),
    )


def doubtful(record: Vessel, sensor: Sensor, heard: Heard, priority: Priority, now_ms: int) -> Finding:
    """Say that what a sensor keeps saying is hard to believe."""
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="doubtful",
        priority=priority,
        figure=_figure(sensor, heard.value),
        harm=None,
        sure=Sure.LIKELY,
        causes=(_DOUBT_CAUSE.get(sensor.quantity, "sensor_wet_or_iced"), "wire_broken", "sensor_dead"),
        first=("read_by_hand", "check_wire"),
        never=("no_trust_in_value",),
        rests_on=_rests_on(sensor, heard.flagged_ms, heard.value),
        facts=_facts(record, sensor, heard)
        | {"since_ms": heard.doubt_from_ms, "doubtful_h": _hours(now_ms - heard.doubt_from_ms)},
        off_delay_ms=LIMITS.ms("stuck_off"),
    )


def jumped(record: Vessel, sensor: Sensor, heard: Heard, jump: Jump, nominal_v: float) -> Finding:
    """Say that the volts of a bank jumped as no bank does."""
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="jumped",
        priority=Priority.CAUTION,
        figure=Figure(round(jump.to_v, 2), nominal_v, "V"),
        harm=None,
        sure=Sure.POSSIBLE,
        causes=("another_bank", "wire_broken", "bank_broken"),
        first=("read_by_hand", "check_where_fused"),
        never=("no_trust_in_value",),
        rests_on=(Seen(sensor.id, jump.at_ms, jump.to_v),),
        facts=_facts(record, sensor, heard) | {"since_ms": jump.at_ms, "from_v": jump.from_v, "to_v": jump.to_v},
        off_delay_ms=LIMITS.ms("sensor_off"),
    )


def low_cell(record: Vessel, sensor: Sensor, heard: Heard, cell: Cell) -> Finding:
    """Say that a sensor's own cell is running out."""
    feeds = _fed_by(record, sensor)
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="low cell",
        priority=Priority.CAUTION,
        figure=Figure(heard.value, round(cell_limit_v(cell), 2), "V"),
        harm=None,
        sure=Sure.LIKELY,
        causes=("cell_used_up", "cell_cold"),
        first=("change_cell",),
        never=("no_old_cell",),
        rests_on=_rests_on(sensor, heard.flagged_ms, heard.value),
        facts=_facts(record, sensor, heard)
        | {
            "best_v": round(cell.best_v, 2),
            "feeds": None if feeds is None else f"{feeds.place}: {feeds.quantity.replace('_', ' ')}",
        },
        off_delay_ms=LIMITS.ms("stuck_off"),
    )


def disagree(record: Vessel, odd: Odd, said: Mapping[str, Seen]) -> Finding:
    """Say that two thermometers in one place differ by more than they can."""
    sensor, one, other = odd.sensor, odd.one, odd.other
    return Finding(
        rule="silence",
        subject=sensor.id,
        kind="disagree",
        priority=Priority.CAUTION,
        figure=Figure(round(abs(one.value - other.value), 1), round(odd.limit_k, 1), "K"),
        harm=None,
        sure=Sure.LIKELY if odd.borne_out else Sure.POSSIBLE,
        causes=("sensor_drifts", "sun_or_heat_on_one", "sensor_moved"),
        first=("compare_in_one_cup", "move_from_heat"),
        never=("no_trust_in_warmer",),
        rests_on=tuple(said[i] for i in sorted(said) if i in {one.sensor, other.sensor}),
        facts={
            "where": sensor.place,
            "value": one.value,
            "other_value": other.value,
            "other": other.sensor,
            "borne_out": odd.borne_out,
            "since_ms": odd.since_ms,
            "afloat": record.berth is not None,
        },
        off_delay_ms=LIMITS.ms("stuck_off"),
    )


_DOUBT_CAUSE = {Quantity.VOLTAGE: "another_bank", Quantity.TEMPERATURE: "sun_or_heat_on_one"}


def _fed_by(record: Vessel, cell: Sensor) -> Sensor | None:
    """Find the sensor that a cell feeds: the one it names, else the one whose id begins its own."""
    if cell.cell_of is not None:
        return record.sensor(cell.cell_of)
    begins = [s for s in record.sensors if cell.id.startswith(f"{s.id}-")]
    return max(begins, key=lambda s: len(s.id), default=None)


def _facts(record: Vessel, sensor: Sensor, heard: Heard) -> dict[str, float | str | bool | None]:
    shown = _figure(sensor, heard.value)
    return {
        "where": sensor.place,
        "what_it_measures": sensor.quantity.replace("_", " "),
        "value": shown.value,
        "unit": shown.unit,
        "afloat": record.berth is not None,
        "usual_gap_min": round(heard.cadence.usual_ms / MINUTE_MS, 1) if heard.cadence.usual_ms else None,
        "holes": heard.holes,
        "clock_faults": heard.clock_faults,
        "late": heard.late,
    }


def _figure(sensor: Sensor, value: float | None) -> Figure:
    unit, scale = _PRINTED.get(sensor.quantity, (sensor.unit, 1.0))
    return Figure(None if value is None else round(value * scale, 3), None, unit)


def _mains_was_off(record: Vessel, state: SilenceState) -> bool:
    mains = state.sensors.get(record.shore_power.mains_sensor or "")
    return mains is not None and mains.value is not None and mains.value < _UP


def _rests_on(sensor: Sensor, at_ms: int | None, value: float | None) -> tuple[Seen, ...]:
    return () if at_ms is None or value is None else (Seen(sensor.id, at_ms, value),)


def _until(back: Back | None, now_ms: int) -> int:
    return now_ms if back is None or back.told_ms is None else back.told_ms


def _again(back: Back | None, off_ms: int) -> dict[str, int | None]:
    told_ms = None if back is None else back.told_ms
    return {"heard_again_ms": told_ms, "ends_at": None if told_ms is None else told_ms + off_ms}


def _hours(ms: float) -> float:
    return round(ms / HOUR_MS, 1)

"""The lines of the lay-up record that an alert depends on: the thing it is about, and the sensors it goes by."""

from collections.abc import Iterator

from monitor.model.equipment import LiquidSystem, Sensor, SystemState
from monitor.model.finding import Finding
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.rules.frost_point import TESTER_ERROR_K
from monitor.web.clock import YardClock
from monitor.web.record_words import Entry, RecordWords

_ERROR = {"Cel": "K", "%RH": "%", "V": "V", "m": "m", "A": "A"}
_MINUTE_S = 60


def version_at(versions: list[StoredRecord], at_ms: int) -> StoredRecord:
    """Give the version of a record that was valid at a time; the oldest for what lies before all of them."""
    return next((version for version in versions if version.from_ms <= at_ms), versions[-1])


def record_lines(finding: Finding, record: Vessel, clock: YardClock) -> list[Entry]:
    """Give the lines of the record that a finding depends on."""
    return [*_of_subject(finding, record, clock), *_of_rule(finding, record, clock), *_sensors(finding, record, clock)]


def _of_subject(finding: Finding, record: Vessel, clock: YardClock) -> Iterator[Entry]:
    words = RecordWords(record, {}, clock)
    for system in record.liquid_systems:
        if system.id == finding.subject:
            yield _tested(system, words, clock)
    for battery, entry in zip(record.batteries, words.batteries(), strict=True):
        if battery.id == finding.subject:
            yield entry
    for bilge, entry in zip(record.bilges, words.bilges(), strict=True):
        if bilge.id == finding.subject:
            yield entry


def _of_rule(finding: Finding, record: Vessel, clock: YardClock) -> Iterator[Entry]:
    """Give what a rule looks at besides: where she lies, what is open, what power feeds."""
    words = RecordWords(record, {}, clock)
    if finding.rule in {"bilge", "silence", "maintenance"}:
        yield Entry("She lies", f"{record.place}, {record.mode}")
    if finding.rule == "bilge":
        yield from (entry for entry in words.seacocks() if entry.is_open)
    if finding.rule in {"power", "damp"}:
        yield from words.plant()


def _tested(system: LiquidSystem, words: RecordWords, clock: YardClock) -> Entry:
    """Give a liquid system; of a treated one also how far its tested point may be out."""
    entry = next(entry for entry in words.systems() if entry.name == system.name)
    if system.state is not SystemState.TREATED or system.tested_freeze_degc is None or system.tester is None:
        return entry
    point, error = clock.figures.degc(system.tested_freeze_degc), clock.figures.kelvin(TESTER_ERROR_K[system.tester])
    on = "" if system.tested is None else f" on {clock.day(system.tested)}"
    kind = "" if system.liquid is None else f" with {system.liquid}"
    state = f"treated{kind}, tested to {point} by {system.tester}{on}, which may be {error} out"
    return Entry(system.name, state, entry.details[-1:])


def _sensors(finding: Finding, record: Vessel, clock: YardClock) -> Iterator[Entry]:
    named = dict.fromkeys([finding.subject, *(seen.sensor for seen in finding.rests_on)])
    for sensor in (record.sensor(name) for name in named):
        if sensor is not None:
            yield Entry(f"Sensor: {sensor.place}", _described(sensor), _proved(sensor, record, clock))


def _proved(sensor: Sensor, record: Vessel, clock: YardClock) -> tuple[str, ...]:
    """Say how a sensor was last proved by hand: a lifted float is an alarm too."""
    last = max(
        (proof for proof in record.proofs if proof.sensor == sensor.id), key=lambda proof: proof.at, default=None
    )
    if last is None:
        return ()
    return (f"Last proved by {last.by}, {last.way.value}, {clock.whole(round(last.at.timestamp() * 1000))}",)


def _described(sensor: Sensor) -> str:
    what = sensor.quantity.value.replace("_", " ")
    minutes = sensor.interval_s / _MINUTE_S
    every = f"every {minutes:.0f} minutes" if minutes >= 1 else f"every {sensor.interval_s:.0f} seconds"
    error = (
        "" if sensor.quantity.is_switch else f", may be {sensor.accuracy:g} {_ERROR.get(sensor.unit, sensor.unit)} out"
    )
    return f"{what}, {every}{error}; fed by {sensor.supply.value}"

"""What a finding rests on, as lines of (label, value): the figure that decides, chosen facts, the last readings."""

import re
from collections.abc import Callable, Iterator, Mapping
from zoneinfo import ZoneInfo

from monitor.messages.figures import Figures, Number
from monitor.messages.phrases import Common
from monitor.messages.plain import capital, one_line
from monitor.model.finding import Finding
from monitor.model.quantity import Quantity
from monitor.model.reading import Seen
from monitor.model.vessel import Vessel

READINGS_SHOWN = 6
_SWITCH = "/"  # its reading says it in words
_UNIT_OF = {
    Quantity.TEMPERATURE: "degC",
    Quantity.HUMIDITY: "%",
    Quantity.VOLTAGE: "V",
    Quantity.CELL: "V",
    Quantity.CURRENT: "A",
    Quantity.LEVEL: "m",
}
_SPAN = re.compile(r"_\d+[hd](?=_)")  # of a fact's name, such as that of margin_24h_k
_BY_ENDING = {
    "degc": "degC",
    "k": "K",
    "mm": "mm",
    "m": "m",
    "v": "V",
    "a": "A",
    "ah": "Ah",
    "pct": "%",
    "rh": "%",
    "l": "L",
    "s": "s",
    "min": "min",
    "h": "h",
    "d": "d",
    "days": "d",
}


def basis(
    finding: Finding, vessel: Vessel, words: Common, labels: Mapping[str, str], zone: ZoneInfo, now_ms: int
) -> list[tuple[str, str]]:
    """Give the lines of what a finding rests on.

    Args:
        finding: what the rule says.
        vessel: her record, which knows where each sensor sits.
        words: the language's own words.
        labels: labels of the facts that are shown, by the fact's name.
        zone: the yard's time zone.
        now_ms: now, for how times are told.
    """
    shown, figure = words.figures, finding.figure
    lines = []
    if figure.unit != _SWITCH:
        lines.append((words.sections["labels"]["measured"], measured(shown, figure.value, figure.unit)))
    if figure.unit != _SWITCH and figure.limit is not None:
        lines.append((words.sections["labels"]["limit"], measured(shown, figure.limit, figure.unit)))
    lines += _facts(finding, shown, labels, zone, now_ms)
    for seen in finding.rests_on[-READINGS_SHOWN:]:
        where, value = _reading(shown, vessel, seen)
        lines.append((f"{where}, {shown.clock(seen.at_ms, now_ms, zone)}", value))
    return lines


def measured(shown: Figures, value: Number, unit: str) -> str:
    """Write a figure in the unit a finding names."""
    if value is None:
        return shown.number(None)
    by_unit: dict[str, Callable[[Number], str]] = {
        "degC": shown.degc,
        "K": shown.kelvin,
        "mm": shown.mm,
        "m": shown.metres,
        "mm/h": shown.mm_an_hour,
        "mm/d": shown.mm_a_day,
        "V": shown.volts,
        "A": shown.amps,
        "%": shown.pct,
        "%RH": shown.pct,
        "L": shown.litres,
        "Ah": shown.ah,
        "s": shown.span,
        "min": shown.minutes,
        "h": shown.hours,
        "d": shown.days,
    }
    if unit in by_unit:
        return by_unit[unit](value)
    return f"{shown.number(value, 0 if float(value).is_integer() else 1)} {one_line(unit, 20)}".strip()


def _facts(
    finding: Finding, shown: Figures, labels: Mapping[str, str], zone: ZoneInfo, now_ms: int
) -> Iterator[tuple[str, str]]:
    """Give the chosen facts; of one figure over several spans that does not change, only the longest span."""
    told: list[tuple[str, str, str]] = []
    for name, label in labels.items():
        value = finding.facts.get(name)
        if value is None:
            continue
        text = shown.clock(int(value), now_ms, zone) if name.endswith("_ms") else _fact(shown, name, value)
        family = _SPAN.sub("", name)
        if told and family != name and told[-1][:2] == (family, text):
            told.pop()
        told.append((family, text, label))
    return ((label, text) for _, text, label in told)


def _fact(shown: Figures, name: str, value: float | str) -> str:
    if isinstance(value, bool):
        return shown.yes(value)
    if isinstance(value, str):
        return one_line(value)
    return measured(shown, value, _BY_ENDING.get(name.rpartition("_")[2], ""))


def _reading(shown: Figures, vessel: Vessel, seen: Seen) -> tuple[str, str]:
    sensor = vessel.sensor(seen.sensor)
    if sensor is None:
        return one_line(seen.sensor), shown.number(seen.value, 1)
    where = capital(one_line(sensor.place))
    if sensor.quantity is Quantity.FLOAT_SWITCH:
        return where, str(shown.units["float_up" if seen.value else "float_down"])
    if sensor.quantity is Quantity.MAINS:
        return where, str(shown.units["mains_on" if seen.value else "mains_off"])
    if sensor.quantity is Quantity.PRESSURE:
        return where, f"{shown.number(seen.value / 100)} hPa"
    return where, measured(shown, seen.value, _UNIT_OF[sensor.quantity])

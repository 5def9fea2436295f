"""What the battery rule keeps of each battery, and what the record says of it."""

from dataclasses import dataclass, field

from monitor.model.equipment import USUAL_ERROR, Battery
from monitor.model.quantity import Quantity
from monitor.model.reading import Seen
from monitor.model.scale import Priority
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.rules.battery_float import Floating
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import Outlook
from monitor.rules.battery_over import Over, other_thermometer, probe_is_on
from monitor.rules.battery_pump import PumpLoad, pump_load
from monitor.rules.battery_rest import Resting, charging_from_v
from monitor.rules.battery_warmth import Warmth
from monitor.rules.last_word import LastWord
from monitor.rules.mains import Mains
from monitor.science.battery import Chemistry as Chemical

_STALE_INTERVALS = 3
# What the formulas cover.
LEAST_DEGC, MOST_DEGC = -40.0, 60.0


@dataclass(slots=True)
class Bank:
    """What the rule keeps of one battery.

    Attributes:
        at_ms, volts: the newest reading, as it came.
        resting, floating, over, warmth: its rest, its charger's float, its overcharge and its temperature.
        outlook: what its rested volts say, None while they say nothing.
        low, soon: grades held by charge and by days.
        pump: grade held by what it could still run its bilge pump for.
        load: whether a load beyond self-discharge and budget is held to be there.
        under: grade held by volts that are under what even a loaded battery should show.
        told: what was told of it last, until its alert has had time to clear.
    """

    at_ms: int | None = None
    volts: float = 0.0
    resting: Resting = field(default_factory=Resting)
    floating: Floating = field(default_factory=Floating)
    over: Over = field(default_factory=Over)
    warmth: Warmth = field(default_factory=Warmth)
    outlook: Outlook | None = None
    low: Priority | None = None
    soon: Priority | None = None
    pump: Priority | None = None
    load: bool = False
    under: Priority | None = None
    told: LastWord | None = None


@dataclass(slots=True)
class BatteryState:
    """What the rule keeps: its batteries by id, and when the mains sensor last spoke and what it said."""

    banks: dict[str, Bank] = field(default_factory=dict)
    mains: Seen | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """What counts beside the battery itself: the time, what the mains sensor says, and what is foretold."""

    now_ms: int
    mains: Mains
    forecast: Forecast | None


@dataclass(frozen=True, slots=True)
class Plan:
    """One battery as the record has it, with what follows from that. Volts are on the 12 V basis."""

    battery: Battery
    scale: float
    chemistry: Chemical
    charger: bool
    charging_v: float
    error_v: float
    lag_ms: int
    own_probe: bool
    stale_ms: int
    probe_on_it: bool
    place_sensor: str | None
    pump: PumpLoad | None

    @property
    def floor_pct(self) -> float:
        """The charge at which it must be recharged: the handbooks', or the day of its pump where that is more."""
        return max(LIMITS["recharge"], self.pump.day_pct if self.pump is not None and self.pump.fits else 0.0)

    @property
    def is_lithium(self) -> bool:
        """Whether its volts cannot tell its charge."""
        return self.chemistry is Chemical.LIFEPO4


def bank_of(state: BatteryState, plan: Plan) -> Bank:
    """Find what is kept of a battery, and begin it where nothing is."""
    bank = state.banks.get(plan.battery.id)
    if bank is None:
        bank = state.banks[plan.battery.id] = Bank()
    return bank


def acid_degc(bank: Bank) -> float:
    """Give the temperature to reckon with, a winter's mean where none was heard."""
    if bank.warmth.at_ms is None:
        return LIMITS["assumed"]
    return min(max(bank.warmth.lagged_degc, LEAST_DEGC), MOST_DEGC)


def plan_of(battery: Battery, record: Vessel) -> Plan:
    """Work out what the record says of one battery."""
    scale = 12.0 / battery.nominal_v
    chemistry = Chemical(battery.chemistry.value)
    meter = None if battery.voltage_sensor is None else record.sensor(battery.voltage_sensor)
    interval_ms = 0 if meter is None else round(meter.interval_s * 1000)
    own_probe = battery.temperature_sensor is not None
    return Plan(
        battery=battery,
        scale=scale,
        chemistry=chemistry,
        charger=battery.charger and record.shore_power.on,
        charging_v=charging_from_v(chemistry),
        error_v=(USUAL_ERROR[Quantity.VOLTAGE] if meter is None else meter.accuracy) * scale,
        lag_ms=LIMITS.ms("probe_lag" if own_probe else "outside_lag"),
        own_probe=own_probe,
        stale_ms=max(LIMITS.ms("stale"), _STALE_INTERVALS * interval_ms),
        probe_on_it=probe_is_on(battery, record),
        place_sensor=other_thermometer(battery, record),
        pump=pump_load(battery, record),
    )

"""What stands aboard, as recorded at lay-up: sensors, liquid systems, batteries, bilges, spaces, seacocks, plant."""

from datetime import date
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from monitor.model.quantity import SPANS, Quantity
from monitor.science.battery import Chemistry as Chemistry  # noqa: PLC0414 - handed on as a noun of the record
from monitor.science.mould import Sensitivity as Sensitivity  # noqa: PLC0414 - handed on as a noun of the record

Slug = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,47}$")]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Note = Annotated[str, Field(max_length=500)]
Degc = Annotated[float, Field(ge=-80, le=60, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Document(BaseModel):
    """A part of a record: immutable, and strict about keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Supply(StrEnum):
    """What feeds a sensor, so that its own draw can be budgeted."""

    OWN_CELL = "own cell"
    SEALED_PACK = "sealed pack"
    AHEAD_OF_ISOLATOR = "fused at the battery ahead of the isolator"
    YARD_MAINS = "yard mains"


# Measuring error of an ordinary small sensor in its own unit; common practice, no source. A record overrides it.
USUAL_ERROR: dict[Quantity, float] = {
    Quantity.TEMPERATURE: 0.5,
    Quantity.HUMIDITY: 3.0,
    Quantity.VOLTAGE: 0.03,
    Quantity.CURRENT: 0.1,
    Quantity.LEVEL: 0.003,
    Quantity.PRESSURE: 200.0,
    Quantity.FLOAT_SWITCH: 0.0,
    Quantity.MAINS: 0.0,
    Quantity.CELL: 0.05,
}


class Sensor(Document):
    """A sensor aboard: what it measures, where, how often, and what feeds it.

    ``cell_of`` names the sensor whose own cell this one measures.
    """

    id: Slug
    quantity: Quantity
    place: Name
    interval_s: Annotated[float, Field(ge=1, le=86_400)]
    supply: Supply
    unit: str = ""
    error: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None
    cell_of: Slug | None = None

    @model_validator(mode="before")
    @classmethod
    def _unit_from_quantity(cls, data: object) -> object:
        if isinstance(data, dict) and not data.get("unit"):
            quantity = data.get("quantity")
            if quantity in set(Quantity):
                return {**data, "unit": SPANS[Quantity(quantity)].unit}
        return data

    @model_validator(mode="after")
    def _unit_fits(self) -> Self:
        wanted = SPANS[self.quantity].unit
        if self.unit != wanted:
            raise ValueError(f"unit {self.unit!r} does not fit {self.quantity}; write {wanted!r} or leave it out")
        if self.cell_of is not None and self.quantity is not Quantity.CELL:
            raise ValueError(f"cell_of is for a sensor of a cell, and this one measures {self.quantity}")
        return self

    @property
    def accuracy(self) -> float:
        """Measuring error in the sensor's unit: as recorded, else the usual one of its kind."""
        return USUAL_ERROR[self.quantity] if self.error is None else self.error


class SystemKind(StrEnum):
    """Which liquid system it is."""

    CLOSED_COOLING = "closed cooling"
    RAW_WATER = "raw water"
    FRESH_WATER = "fresh water"
    HEADS = "heads"
    HEATING = "heating"
    WASTE_WATER = "waste water"


class SystemState(StrEnum):
    """How a liquid system was left."""

    DRAINED = "drained"
    TREATED = "treated"
    WET = "wet"
    NOT_PROVEN = "not proven"


class Liquid(StrEnum):
    """What is in a liquid system."""

    ETHYLENE_GLYCOL = "ethylene glycol"
    PROPYLENE_GLYCOL = "propylene glycol"
    FRESH_WATER = "fresh water"
    SEA_WATER = "sea water"


class Tester(StrEnum):
    """What the freeze point was tested with."""

    REFRACTOMETER = "refractometer"
    BALL = "ball tester"
    LABORATORY = "laboratory"


class Inhibitor(StrEnum):
    """What keeps the coolant from eating the engine; how long it lasts follows from it."""

    INORGANIC = "inorganic"
    ORGANIC_ACID = "organic acid"


class Drain(Document):
    """A drain that was opened, and whether it was probed afterwards so that it cannot be blocked by scale."""

    name: Name
    probed: bool


class LiquidSystem(Document):
    """Anything aboard that can freeze, and its state at lay-up.

    ``sensor`` is the thermometer at its lowest outboard point. ``changed`` is when its coolant was last renewed.
    """

    id: Slug
    name: Name
    kind: SystemKind
    state: SystemState
    liquid: Liquid | None = None
    salinity_g_per_kg: Annotated[float, Field(ge=0, le=40)] | None = None
    tested_freeze_degc: Degc | None = None
    tester: Tester | None = None
    tested: date | None = None
    changed: date | None = None
    inhibitor: Inhibitor | None = None
    drains: tuple[Drain, ...] = ()
    sensor: Slug | None = None

    @model_validator(mode="after")
    def _state_is_backed(self) -> Self:
        if self.state is SystemState.TREATED:
            missing = [k for k in ("liquid", "tested_freeze_degc", "tester", "tested") if getattr(self, k) is None]
            if missing:
                raise ValueError(f"a treated system needs {', '.join(missing)}; without them its state is 'not proven'")
        if self.state is SystemState.DRAINED and not self.drains:
            raise ValueError("a drained system names each drain; without them its state is 'not proven'")
        return self


class Battery(Document):
    """A battery bank: chemistry, size, what charges it, what hangs on it, and the sensors on it.

    ``feeds_pump`` marks the bank that runs the bilge pump. Where none is marked and there is only one, it is that one.
    """

    id: Slug
    name: Name
    chemistry: Chemistry
    capacity_ah: Positive
    nominal_v: Annotated[float, Field(ge=6, le=48)] = 12.0
    charger: bool = False
    feeds_pump: bool = False
    budget_ma: Annotated[float, Field(ge=0, le=5_000)] = 5.0
    voltage_sensor: Slug | None = None
    temperature_sensor: Slug | None = None


# More than any compartment of a yacht holds: a table that says so has its columns or its units mixed up.
MOST_LITRES = 100_000.0


class Bilge(Document):
    """A compartment that can hold water, its sensors, and the heights at which water does harm.

    Heights and levels are metres above the sensor's zero, as she sits now. ``dip_table`` pairs metres and litres.
    ``pump_sensor`` tells whether there is power on the pump's own lead: it runs while there is. ``zero_wanted`` stands
    while she sits otherwise than when the level sensor's zero was set: after a lift, until it is set anew.
    """

    id: Slug
    name: Name
    level_sensor: Slug | None = None
    float_sensor: Slug | None = None
    temperature_sensor: Slug | None = None
    high_m: Positive = 0.10
    starter_m: Positive | None = None
    terminals_m: Positive | None = None
    sole_m: Positive | None = None
    dip_table: tuple[tuple[float, float], ...] = ()
    pump_lph: Positive | None = None
    pump_sensor: Slug | None = None
    zero_wanted: bool = False

    @model_validator(mode="after")
    def _high_mark_comes_first(self) -> Self:
        for what, height_m in self.harm_heights:
            if self.high_m >= height_m:
                raise ValueError(f"high_m {self.high_m:g} must lie below the {what} at {height_m:g} m")
        return self

    @model_validator(mode="after")
    def _dip_table_rises(self) -> Self:
        if len(self.dip_table) == 1:
            raise ValueError("dip_table needs at least two rows of (metres, litres)")
        span = SPANS[Quantity.LEVEL]
        for number, (metres, litres) in enumerate(self.dip_table, 1):
            if not span.low <= metres <= span.high:
                raise ValueError(
                    f"dip_table row {number} stands at {metres} m; levels lie between {span.low} and {span.high} m "
                    "above the sensor's zero (metres come first, then litres)"
                )
            if not 0.0 <= litres <= MOST_LITRES:
                raise ValueError(
                    f"dip_table row {number} holds {litres} L; a bilge holds between 0 and {MOST_LITRES:.0f} L "
                    "(metres come first, then litres)"
                )
        for (m0, l0), (m1, l1) in pairwise(self.dip_table):
            if m1 <= m0 or l1 <= l0:
                raise ValueError(f"dip_table must rise in both columns: ({m0}, {l0}) is followed by ({m1}, {l1})")
        return self

    @property
    def harm_heights(self) -> tuple[tuple[str, float], ...]:
        """What water reaches, lowest first, as (name, metres)."""
        known = (("starter motor", self.starter_m), ("battery terminals", self.terminals_m), ("sole", self.sole_m))
        return tuple(sorted(((n, m) for n, m in known if m is not None), key=lambda pair: pair[1]))


class Space(Document):
    """An enclosed space whose air is watched.

    ``surface_factor`` places its coldest surface between outside air (0) and the space's air (1), as f_Rsi of
    ISO 13788 does; 0.3 for bare single-skin laminate is common practice, no source. ``mould_class`` is that of what
    lies against it (Ojanen, Viitanen et al. 2010): cloth, foam and finished wood are nearest to *sensitive*, bare
    softwood is *very sensitive*, hard plastics are *medium resistant*.
    """

    id: Slug
    name: Name
    humidity_sensor: Slug
    temperature_sensor: Slug
    surface_factor: Annotated[float, Field(ge=0, le=1)] = 0.3
    mould_class: Sensitivity = Sensitivity.SENSITIVE


class Seacock(Document):
    """A valve on an opening in the hull, and how it was left."""

    id: Slug
    name: Name
    open: bool
    reason: Note = ""

    @model_validator(mode="after")
    def _open_has_reason(self) -> Self:
        if self.open and not self.reason.strip():
            raise ValueError("a seacock left open needs its reason")
        return self


class DehumidifierKind(StrEnum):
    """How a dehumidifier works: desiccant ones work in the cold, compressors fade below about 15 degC."""

    DESICCANT = "desiccant"
    COMPRESSOR = "compressor"


class Dehumidifier(Document):
    """A dehumidifier aboard: whether it was left running, and the humidity it should hold."""

    running: bool
    kind: DehumidifierKind = DehumidifierKind.DESICCANT
    space: Slug
    hold_below_rh: Annotated[float, Field(ge=30, le=90)] = 65.0


class Heater(Document):
    """A fixed heater aboard, and whether it was left on."""

    on: bool
    note: Note = ""


class ShorePower(Document):
    """Whether shore power was left on, and the sensor that sees it, where there is one."""

    on: bool
    mains_sensor: Slug | None = None


class Visit(Document):
    """Somebody was aboard: the day in the yard, who, and what there was to say."""

    on: date
    by: Name
    note: Note = ""


class SafetyItem(Document):
    """A piece of safety kit that has a date: the day from which it must be serviced or renewed."""

    id: Slug
    name: Name
    due: date


class Due(StrEnum):
    """When an open item must be put right."""

    BEFORE_LIFT = "before lift"
    IN_THE_SLINGS = "in the slings"
    AFTER_LAUNCH = "after launch"


class OpenItem(Document):
    """Anything left open, off, out or disconnected at lay-up.

    ``opens_hull`` marks an opening in the hull (log out, hose off): two people sight it closed before she is lifted.
    """

    tag: Annotated[int, Field(ge=1, le=9_999)]
    what: Annotated[str, Field(min_length=1, max_length=200)]
    due: Due
    opens_hull: bool = False
    closed: date | None = None
    closed_by: Name | None = None

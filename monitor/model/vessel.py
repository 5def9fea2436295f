"""A vessel and her lay-up record: the document that the sensors are held against.

The record is immutable: a change is a new version with its own valid-from. Times are aware datetimes.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import Annotated, Self

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, model_validator

from monitor.model.equipment import (
    Battery,
    Bilge,
    Dehumidifier,
    Heater,
    LiquidSystem,
    Note,
    OpenItem,
    SafetyItem,
    Seacock,
    Sensor,
    ShorePower,
    Slug,
    Space,
    Visit,
)
from monitor.model.proof import Commissioned, Proof, is_of_lay_up
from monitor.model.quantity import Quantity
from monitor.model.work import Engine, Job, Rig

RESERVED_IDS = frozenset({"agent", "forecast", "readings", "clock", "gateway", "new"})


class Mode(StrEnum):
    """Where the vessel is in her year. Rules and limits follow it."""

    IN_COMMISSION = "in commission"
    LAYING_UP = "laying up"
    ASHORE_BUNG_OUT = "ashore bung out"
    ASHORE_BUNG_IN = "ashore bung in"
    AFLOAT_LAID_UP = "afloat laid up"
    MOVING = "moving"
    IN_SLINGS = "in slings"
    FIRST_24_H_AFLOAT = "first 24 h afloat"
    WORK_ABOARD = "work aboard"

    @property
    def is_ashore(self) -> bool:
        """Whether she stands ashore."""
        return self in {Mode.ASHORE_BUNG_OUT, Mode.ASHORE_BUNG_IN}

    @property
    def is_laid_up(self) -> bool:
        """Whether she lies unattended, so that every rule watches her."""
        return self in {Mode.ASHORE_BUNG_OUT, Mode.ASHORE_BUNG_IN, Mode.AFLOAT_LAID_UP}


class Person(BaseModel):
    """Somebody who is told: a name, and an e-mail address where there is one."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: Annotated[str, Field(min_length=1, max_length=80)]
    email: Annotated[str, Field(pattern=r"^[^@\s<>\"]+@[^@\s<>\"]+$", max_length=254)] | None = None


class Card(BaseModel):
    """What whoever goes to her has to know, shown with every alert. Empty where nobody wrote it down."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    keys: Note = ""
    ladder: Note = ""
    isolator: Note = ""
    pump_switch: Note = ""
    gas: Note = ""
    shore_post: Note = ""
    contacts: Note = ""
    instructions: Note = ""
    """What the owner wrote: what may be done."""
    refusals: Note = ""
    """What the owner wrote must not be done."""
    policy: Note = ""
    """What the insurer's policy says of her term ashore or afloat, and of visits."""


class Vessel(BaseModel):
    """One version of a vessel's lay-up record."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Slug
    name: Annotated[str, Field(min_length=1, max_length=80)]
    yard: Slug
    mode: Mode
    berth: Annotated[str, Field(max_length=40)] | None = None
    plot: Annotated[str, Field(max_length=40)] | None = None
    laid_up: AwareDatetime
    engineer: Annotated[str, Field(min_length=1, max_length=80)]
    engine: Engine | None = None
    rig: Rig | None = None
    visit_every_days: Annotated[int, Field(ge=1, le=180)] | None = None
    owner: Person | None = None
    card: Card = Card()
    outside_sensor: Slug | None = None
    sensors: tuple[Sensor, ...] = ()
    liquid_systems: tuple[LiquidSystem, ...] = ()
    batteries: tuple[Battery, ...] = ()
    bilges: tuple[Bilge, ...] = ()
    spaces: tuple[Space, ...] = ()
    seacocks: tuple[Seacock, ...] = ()
    dehumidifier: Dehumidifier | None = None
    heater: Heater | None = None
    shore_power: ShorePower = ShorePower(on=False)
    open_items: tuple[OpenItem, ...] = ()
    visits: tuple[Visit, ...] = ()
    safety_kit: tuple[SafetyItem, ...] = ()
    jobs: tuple[Job, ...] = ()
    proofs: tuple[Proof, ...] = ()
    commissioned: Commissioned | None = None

    def sensor(self, sensor_id: str) -> Sensor | None:
        """Find a sensor by its id."""
        return next((s for s in self.sensors if s.id == sensor_id), None)

    @property
    def place(self) -> str:
        """Where she is, in words."""
        if self.berth:
            return f"berth {self.berth}"
        return f"plot {self.plot}" if self.plot else "place not recorded"

    @property
    def watch_taken_on(self) -> Commissioned | None:
        """Who took the watch on for this lay-up; None where nobody has."""
        made = self.commissioned
        return made if made is not None and is_of_lay_up(made.at, self.laid_up) else None

    @property
    def open_seacocks(self) -> tuple[Seacock, ...]:
        """The seacocks recorded open."""
        return tuple(s for s in self.seacocks if s.open)

    @model_validator(mode="after")
    def _hold_together(self) -> Self:
        mistakes = list(self._mistakes())
        if mistakes:
            raise ValueError("; ".join(mistakes))
        return self

    def _mistakes(self) -> Iterator[str]:
        if self.id in RESERVED_IDS:
            yield f"id {self.id!r} is reserved for topics and pages of our own; choose another"
        if self.mode is Mode.AFLOAT_LAID_UP and not self.berth:
            yield "a vessel afloat needs a berth"
        if self.mode.is_ashore and not self.plot:
            yield "a vessel ashore needs a plot"
        if self.berth and self.plot:
            yield "a vessel has a berth (afloat) or a plot (ashore), not both"
        yield from _repeats("sensors", (s.id for s in self.sensors))
        subjects = [s.id for s in self.liquid_systems] + [b.id for b in self.batteries]
        subjects += [b.id for b in self.bilges] + [s.id for s in self.spaces]
        subjects += [k.id for k in self.safety_kit]
        yield from _repeats("liquid_systems, batteries, bilges, spaces and safety_kit (one list of ids)", subjects)
        yield from _repeats("seacocks", (s.id for s in self.seacocks))
        yield from _repeats("open_items (tags)", (str(i.tag) for i in self.open_items))
        yield from _repeats("jobs", (job.id for job in self.jobs))
        yield from self._astray()

    def _astray(self) -> Iterator[str]:
        """Give what names something that is not in the record, or is something else."""
        for sensor in self.sensors:
            if sensor.cell_of is not None and (sensor.cell_of == sensor.id or self.sensor(sensor.cell_of) is None):
                yield f"sensors {sensor.id}.cell_of names {sensor.cell_of!r}, which is no other one of the sensors"
        tags = {item.tag for item in self.open_items}
        for job in self.jobs:
            lost = sorted(set(job.tags) - tags)
            if lost:
                yield f"jobs {job.id}.tags names {', '.join(map(str, lost))}, which no open item has"
        for proof in self.proofs:
            if self.sensor(proof.sensor) is None:
                yield f"proofs names sensor {proof.sensor!r}, which is not in sensors"
        for where, sensor_id, quantity in self._links():
            known = self.sensor(sensor_id)
            if known is None:
                yield f"{where} names sensor {sensor_id!r}, which is not in sensors"
            elif known.quantity is not quantity:
                yield f"{where} names sensor {sensor_id!r}, which measures {known.quantity}, not {quantity}"

    def _links(self) -> Iterator[tuple[str, str, Quantity]]:
        links: list[tuple[str, str | None, Quantity]] = [
            ("outside_sensor", self.outside_sensor, Quantity.TEMPERATURE),
            ("shore_power.mains_sensor", self.shore_power.mains_sensor, Quantity.MAINS),
        ]
        links += [(f"liquid_systems {s.id}.sensor", s.sensor, Quantity.TEMPERATURE) for s in self.liquid_systems]
        for b in self.batteries:
            links.append((f"batteries {b.id}.voltage_sensor", b.voltage_sensor, Quantity.VOLTAGE))
            links.append((f"batteries {b.id}.temperature_sensor", b.temperature_sensor, Quantity.TEMPERATURE))
        for bilge in self.bilges:
            links.append((f"bilges {bilge.id}.level_sensor", bilge.level_sensor, Quantity.LEVEL))
            links.append((f"bilges {bilge.id}.float_sensor", bilge.float_sensor, Quantity.FLOAT_SWITCH))
            links.append((f"bilges {bilge.id}.temperature_sensor", bilge.temperature_sensor, Quantity.TEMPERATURE))
            links.append((f"bilges {bilge.id}.pump_sensor", bilge.pump_sensor, Quantity.MAINS))
        for space in self.spaces:
            links.append((f"spaces {space.id}.humidity_sensor", space.humidity_sensor, Quantity.HUMIDITY))
            links.append((f"spaces {space.id}.temperature_sensor", space.temperature_sensor, Quantity.TEMPERATURE))
        yield from ((where, sensor, quantity) for where, sensor, quantity in links if sensor is not None)


def _repeats(where: str, ids: Iterable[str]) -> Iterator[str]:
    for repeated, times in Counter(ids).items():
        if times > 1:
            yield f"{where}: {repeated!r} stands {times} times; ids must differ"

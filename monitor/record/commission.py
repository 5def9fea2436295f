"""Which proofs by hand each sensor of a record wants, which are missing, and whether the yard took the watch on.

Pure: the record alone gives it. A proof of an earlier lay-up does not count: what a sensor said in spring says nothing
of this winter.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.equipment import Bilge, Sensor
from monitor.model.proof import Commissioned, Proof, ProofWay, is_of_lay_up
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel

_BY_QUANTITY = {
    Quantity.FLOAT_SWITCH: (ProofWay.LIFTED,),
    Quantity.LEVEL: (ProofWay.DIPPED,),
    Quantity.TEMPERATURE: (ProofWay.ICE_WATER, ProofWay.IN_THE_HAND),
    Quantity.HUMIDITY: (ProofWay.DAMP_CLOTH,),
    Quantity.VOLTAGE: (ProofWay.MULTIMETER,),
    Quantity.MAINS: (ProofWay.LEAD_PULLED,),
    Quantity.CURRENT: (ProofWay.COMPARED,),
    Quantity.PRESSURE: (ProofWay.COMPARED,),
    Quantity.CELL: (ProofWay.COMPARED,),
}
# What the walk goes by: water first, the shore lead last, since all that hangs on it is off while it is pulled.
_ORDER = (
    Quantity.FLOAT_SWITCH,
    Quantity.LEVEL,
    Quantity.TEMPERATURE,
    Quantity.HUMIDITY,
    Quantity.VOLTAGE,
    Quantity.CURRENT,
    Quantity.PRESSURE,
    Quantity.CELL,
    Quantity.MAINS,
)


@dataclass(frozen=True, slots=True)
class Want:
    """One proof that a sensor wants, and the one that stands; None where none of this lay-up does."""

    sensor: Sensor
    way: ProofWay
    proof: Proof | None = None


@dataclass(frozen=True, slots=True)
class WatchState:
    """Whether a vessel is watched by her record.

    Attributes:
        taken_on: who took the watch on for this lay-up, None where nobody has.
        wants: every proof that her sensors want, in the order of the walk.
        zeros: bilges whose zero is to be set since she was moved.
    """

    taken_on: Commissioned | None
    wants: tuple[Want, ...]
    zeros: tuple[Bilge, ...]

    @property
    def missing(self) -> tuple[Want, ...]:
        """The proofs that are missing."""
        return tuple(want for want in self.wants if want.proof is None)

    @property
    def is_whole(self) -> bool:
        """Whether the watch was taken on and nothing is missing since."""
        return self.taken_on is not None and not self.missing and not self.zeros


def ways_of(record: Vessel, sensor: Sensor) -> tuple[ProofWay, ...]:
    """Give the ways in which a sensor is proved.

    One on a bilge pump's own lead is held against the pump: pulling the shore lead tells it nothing.
    """
    if sensor.quantity is Quantity.MAINS and is_on_pump(record, sensor):
        return (ProofWay.COMPARED,)
    return _BY_QUANTITY[sensor.quantity]


def is_on_pump(record: Vessel, sensor: Sensor) -> bool:
    """Say whether a sensor tells of power on a bilge pump's lead."""
    return any(bilge.pump_sensor == sensor.id for bilge in record.bilges)


def wants_of(record: Vessel) -> tuple[Want, ...]:
    """Give every proof that a record's sensors want, in the order of the walk, with the newest that stands."""
    standing = {(p.sensor, p.way): p for p in sorted(_of_this_lay_up(record), key=lambda p: p.at)}
    walked = sorted(record.sensors, key=lambda sensor: _ORDER.index(sensor.quantity))
    return tuple(Want(s, way, standing.get((s.id, way))) for s in walked for way in ways_of(record, s))


def watch_state(record: Vessel) -> WatchState:
    """Say whether a vessel is watched, and what is missing until she is."""
    zeros = tuple(bilge for bilge in record.bilges if bilge.zero_wanted)
    return WatchState(record.watch_taken_on, wants_of(record), zeros)


def with_proof(record: Vessel, proof: Proof) -> Vessel:
    """Give a record with a proof, in place of an earlier one of the same sensor and way.

    A level that was dipped has its zero set: her bilge wants none any more.
    """
    kept = tuple(p for p in record.proofs if (p.sensor, p.way) != (proof.sensor, proof.way))
    changes: dict[str, object] = {"proofs": (*kept, proof)}
    if proof.way is ProofWay.DIPPED:
        changes["bilges"] = tuple(
            b.model_copy(update={"zero_wanted": False}) if b.level_sensor == proof.sensor else b for b in record.bilges
        )
    return record.model_copy(update=changes)


def _of_this_lay_up(record: Vessel) -> Iterator[Proof]:
    return (proof for proof in record.proofs if is_of_lay_up(proof.at, record.laid_up))

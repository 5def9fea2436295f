"""A record with every sensor proved by hand and the watch taken on, as a yard leaves it."""

from datetime import timedelta
from typing import Any

from monitor.model.proof import Commissioned, Proof, ProofWay
from monitor.model.vessel import Vessel
from monitor.record.commission import wants_of

SAID: dict[ProofWay, tuple[float, float | None]] = {
    ProofWay.LIFTED: (1.0, 1.0),
    ProofWay.DIPPED: (0.0, 0.0),
    ProofWay.ICE_WATER: (0.2, 0.0),
    ProofWay.IN_THE_HAND: (24.0, None),
    ProofWay.DAMP_CLOTH: (95.0, None),
    ProofWay.MULTIMETER: (12.71, 12.7),
    ProofWay.COMPARED: (1.0, 1.0),
    ProofWay.LEAD_PULLED: (0.0, 0.0),
}
"""What a sensor said when it was proved, and what it should have said."""


def proved(record: Vessel) -> Vessel:
    """Give a record with its sensors proved and its watch taken on an hour before she was laid up."""
    at = record.laid_up - timedelta(hours=1)
    proofs = []
    for want in wants_of(record):
        said, wanted = SAID[want.way]
        proofs.append(Proof(sensor=want.sensor.id, way=want.way, by=record.engineer, at=at, said=said, wanted=wanted))
    taken = Commissioned(by=record.engineer, at=at, place=record.place, rung="Wilf Sandring")
    return record.model_copy(update={"proofs": tuple(proofs), "commissioned": taken})


def unproved(record: Vessel, **changes: Any) -> Vessel:
    """Give a record whose sensors nobody proved, and whose watch nobody took on."""
    return record.model_copy(update={"proofs": (), "commissioned": None} | changes)

"""How a vessel's sensors are proved, and where she was moved, as the API gives it. Times are RFC 3339 in UTC."""

from datetime import datetime
from typing import Self

from pydantic import BaseModel

from monitor.model.vessel import Vessel
from monitor.record.commission import Want, watch_state
from monitor.record.commission_says import state_words


class WantOut(BaseModel):
    """One proof that a sensor wants; ``at`` is null where it is missing."""

    sensor: str
    quantity: str
    place: str
    way: str
    at: datetime | None
    by: str | None
    said: float | None
    wanted: float | None

    @classmethod
    def of(cls, want: Want) -> Self:
        """Give it as data."""
        proof, sensor = want.proof, want.sensor
        return cls(
            sensor=sensor.id,
            quantity=sensor.quantity.value,
            place=sensor.place,
            way=want.way.value,
            at=None if proof is None else proof.at,
            by=None if proof is None else proof.by,
            said=None if proof is None else proof.said,
            wanted=None if proof is None else proof.wanted,
        )


class TakenOnOut(BaseModel):
    """Who took the watch on, where she stood then, and who answered the duty phone."""

    by: str
    at: datetime
    place: str
    rung: str
    note: str


class CommissionOut(BaseModel):
    """Whether a vessel is watched: ``whole`` where the watch was taken on and nothing is missing since."""

    vessel: str
    name: str
    place: str
    mode: str
    whole: bool
    text: str
    taken_on: TakenOnOut | None
    missing: int
    zeros_wanted: list[str]
    proofs: list[WantOut]

    @classmethod
    def of(cls, record: Vessel) -> Self:
        """Give it as data."""
        state = watch_state(record)
        taken = state.taken_on
        return cls(
            vessel=record.id,
            name=record.name,
            place=record.place,
            mode=record.mode.value,
            whole=state.is_whole,
            text=state_words(state),
            taken_on=None if taken is None else TakenOnOut.model_validate(taken.model_dump()),
            missing=len(state.missing),
            zeros_wanted=[bilge.id for bilge in state.zeros],
            proofs=[WantOut.of(want) for want in state.wants],
        )

"""What people say while they prove a vessel's sensors and take her watch on, and how it gets into her record."""

from datetime import UTC, datetime
from math import inf
from typing import Annotated

from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from monitor.model.proof import Commissioned, ProofWay
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.record.commission import WatchState, watch_state, with_proof
from monitor.record.commission_check import NotProvedError, prove
from monitor.record.commission_says import missing_words
from monitor.web.acts import Name, Words
from monitor.web.clock import YardClock
from monitor.web.commands import name_of, taken
from monitor.web.commission_heard import by_hand, heard_of
from monitor.web.deps import Deps
from monitor.web.gate_in import may_override
from monitor.web.problems import Mistake, ProblemError
from monitor.web.record_change import change_record
from monitor.web.sight import Viewer

_ONLY_ENGINEERS = "Only an engineer or a manager takes the watch on for the yard."


class ProofIn(BaseModel):
    """Who proved which sensor in which way, and what they read by hand beside it."""

    model_config = ConfigDict(extra="forbid")

    name: Name
    sensor: Annotated[str, Field(max_length=48)]
    way: ProofWay
    hand: Annotated[str, Field(max_length=40)] = ""


class RingIn(BaseModel):
    """Who wants to know whether the duty phone rings."""

    model_config = ConfigDict(extra="forbid")

    name: Name


class TakeOnIn(RingIn):
    """Who takes the watch on, where they stand beside her, and who answered the duty phone."""

    place: Annotated[str, Field(max_length=80)]
    rung: Annotated[str, Field(max_length=80)] = ""
    here: bool = False
    note: Words = ""


async def prove_sensor(deps: Deps, viewer: Viewer, vessel_id: str, said: ProofIn) -> StoredRecord:
    """Check what a sensor says now, and keep the proof in her record as it stands.

    Raises:
        HTTPException: 404 where there is no such vessel.
        ProblemError: where it is not proved, in words.
    """
    name = await run_in_threadpool(name_of, deps, viewer, said.name, vessel_id)

    def proved(record: Vessel) -> Vessel:
        want = next((w for w in watch_state(record).wants if (w.sensor.id, w.way) == (said.sensor, said.way)), None)
        if want is None:
            raise ProblemError(409, f"Her record has no sensor {said.sensor!r} that is proved {said.way.value}.")
        now_ms = deps.now_ms()
        heard = heard_of(deps, vessel_id, want.sensor, deps.readings.newest(vessel_id))
        hand = by_hand(want.sensor, said.hand)
        if want.way is ProofWay.DIPPED and heard is not None and heard.at_ms < _moved_ms(deps, record, want.sensor.id):
            raise ProblemError(409, "It has not spoken since she was moved: wait, or press its button.")
        spell = YardClock(deps.zone, now_ms).at
        try:
            return with_proof(record, prove(record, want, heard, hand, name, now_ms, spell))
        except NotProvedError as error:
            raise ProblemError(409, str(error)) from error

    return await change_record(deps, viewer, vessel_id, name, proved)


async def ring_duty(deps: Deps, viewer: Viewer, record: Vessel, said: RingIn) -> None:
    """Have a test message sent to whoever has the duty.

    Raises:
        ProblemError: 409 where none can go out, in words.
    """
    name = await run_in_threadpool(name_of, deps, viewer, said.name, record.id)
    why = f"{name} takes on the watch of {record.name} at {record.place}, and wants to know whether you can be reached"
    await taken(deps.ring_duty(record.id, why))


async def take_on(deps: Deps, viewer: Viewer, vessel_id: str, said: TakeOnIn) -> StoredRecord:
    """Take the watch on for the yard.

    Raises:
        HTTPException: 404 where there is no such vessel.
        ProblemError: where it is not for them, or something is missing, in words.
    """
    if not may_override(viewer):
        raise ProblemError(409, _ONLY_ENGINEERS)
    name = await run_in_threadpool(name_of, deps, viewer, said.name, vessel_id)

    def taken_on(record: Vessel) -> Vessel:
        _see_that_nothing_is_missing(record, watch_state(record))
        if not said.here:
            _wrong("here", f"Say that you stand beside {record.name} at {record.place}, or go there first.")
        if said.place != record.place:
            _wrong("here", f"She is at {record.place} by now, and not at {said.place}: look again where you stand.")
        if not said.rung.strip():
            _wrong("rung", "Write who answered the duty phone.")
        at = datetime.fromtimestamp(deps.now_ms() / 1000, UTC)
        made = Commissioned(by=name, at=at, place=record.place, rung=said.rung.strip(), note=said.note)
        return record.model_copy(update={"commissioned": made})

    return await change_record(deps, viewer, vessel_id, name, taken_on)


def _moved_ms(deps: Deps, record: Vessel, level: str) -> float:
    """Give since when the zero of a level sensor is to be set anew; before all time where it is not."""
    since_ms = -inf
    if _wants_zero(record, level):
        for stored in deps.records.versions(record.id):
            if not _wants_zero(stored.vessel, level):
                break
            since_ms = stored.from_ms
    return since_ms


def _wants_zero(record: Vessel, level: str) -> bool:
    return any(bilge.zero_wanted for bilge in record.bilges if bilge.level_sensor == level)


def _see_that_nothing_is_missing(record: Vessel, state: WatchState) -> None:
    if not record.sensors:
        raise ProblemError(409, "She has no sensors in her record: there is nothing to watch her by.")
    if state.missing:
        listed = "; ".join(missing_words(state.missing))
        raise ProblemError(409, f"Not proved yet: {listed}. Prove it, or take the sensor out of her record.")
    if state.zeros:
        listed = ", ".join(bilge.name for bilge in state.zeros)
        raise ProblemError(409, f"The zero is not set since she was moved: {listed}.")


def _wrong(key: str, reason: str) -> None:
    raise ProblemError(422, reason, [Mistake(key=key, reason=reason)])

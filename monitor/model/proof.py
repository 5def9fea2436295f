"""How each sensor was proved by hand before anybody relies on it, and who then took the watch on."""

from datetime import datetime, timedelta
from enum import StrEnum
from typing import Annotated

from pydantic import AwareDatetime, Field

from monitor.model.equipment import Document, Name, Note, Slug
from monitor.model.limits import Limit, Limits

LIMITS = Limits(
    Limit(
        "before_lay_up",
        30.0,
        "d",
        "invented",
        "sensors are fitted while she is laid up; what was proved in spring says nothing of this winter",
        "prove it again",
    ),
)


class ProofWay(StrEnum):
    """What was done to a sensor by hand, so that it had to say something known."""

    ICE_WATER = "in ice-water"
    IN_THE_HAND = "in the hand"
    DAMP_CLOTH = "under a damp cloth"
    MULTIMETER = "against a multimeter"
    DIPPED = "dipped to a mark"
    LIFTED = "lifted by hand"
    LEAD_PULLED = "with the shore lead pulled"
    COMPARED = "against another instrument"


class Proof(Document):
    """One sensor proved in one way.

    ``said`` is what the sensor said then, ``wanted`` what it should have (both in its unit; ``wanted`` is None where a
    change alone was asked for).
    """

    sensor: Slug
    way: ProofWay
    by: Name
    at: AwareDatetime
    said: Annotated[float, Field(allow_inf_nan=False)]
    wanted: Annotated[float, Field(allow_inf_nan=False)] | None = None


class Commissioned(Document):
    """The yard took the watch on: right boat and place were shown, and the duty phone rang.

    ``place`` is where she stood then, ``rung`` who answered the duty phone.
    """

    by: Name
    at: AwareDatetime
    place: Name
    rung: Name
    note: Note = ""


def is_of_lay_up(at: datetime, laid_up: datetime) -> bool:
    """Say whether something was proved or taken on for the lay-up at hand, and not for an earlier one."""
    return at >= laid_up - timedelta(milliseconds=LIMITS.ms("before_lay_up"))

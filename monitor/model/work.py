"""What was done at lay-up, a job at a time: how it ended, who did it, what was read, and what it left open."""

from datetime import date
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Document, Name, Note, Slug

PhotoId = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
"""A photo by the SHA-256 of its bytes as they are kept."""

Tag = Annotated[int, Field(ge=1, le=9_999)]


class Engine(StrEnum):
    """What drives her."""

    INBOARD_DIESEL = "inboard diesel"
    INBOARD_PETROL = "inboard petrol"
    STERNDRIVE = "sterndrive"
    OUTBOARD = "outboard"
    NONE = "no engine"


class Rig(StrEnum):
    """Whether she has a mast."""

    SAIL = "sail"
    MOTOR = "motor"


class JobEnd(StrEnum):
    """How a job ended."""

    DONE = "done"
    NOT_DONE = "not done"
    NOT_FITTED = "not fitted"


class Measured(Document):
    """Something read while a job was done, with its unit and what it was read with."""

    what: Name
    value: Annotated[float, Field(allow_inf_nan=False)]
    unit: Annotated[str, Field(max_length=16)] = ""
    by_means_of: Annotated[str, Field(max_length=80)] = ""


class Job(Document):
    """One job of the lay-up as it ended.

    ``id`` is that of the work list. ``tags`` are those of the open items it left. ``instruction`` is whose it was done
    to: the engine maker's book by its page, the owner's letter.
    """

    id: Slug
    system: Name
    what: Annotated[str, Field(min_length=1, max_length=200)]
    end: JobEnd
    by: Name
    on: date
    instruction: Annotated[str, Field(max_length=200)] = ""
    reason: Note = ""
    note: Note = ""
    readings: Annotated[tuple[Measured, ...], Field(max_length=8)] = ()
    photos: Annotated[tuple[PhotoId, ...], Field(max_length=6)] = ()
    tags: tuple[Tag, ...] = ()

    @model_validator(mode="after")
    def _not_done_has_reason(self) -> Self:
        if self.end is JobEnd.NOT_DONE and not self.reason.strip():
            raise ValueError("a job that was not done needs its reason")
        return self

"""The yard's people: who they are, how they are reached, when they sleep, and who has the duty in which week."""

from datetime import time
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Document, Name, Slug

EmailAddress = Annotated[str, Field(pattern=r"^[^@\s<>\"]+@[^@\s<>\"]+$", max_length=254)]
Language = Annotated[str, Field(pattern=r"^[a-z]{2}(-[A-Z]{2})?$")]


class ChannelKind(StrEnum):
    """A way to reach somebody."""

    EMAIL = "email"
    WEBHOOK = "webhook"
    """A POST to an address, signed (Standard Webhooks)."""
    SERVICE = "service"
    """One of the many phone and message services of the apprise library, by its URL."""


class Channel(Document):
    """One way to reach somebody. ``rings``: it wakes who sleeps, and is used for what cannot wait."""

    kind: ChannelKind
    address: Annotated[str, Field(min_length=1, max_length=2_000)]
    rings: bool = False


class Role(StrEnum):
    """What somebody may do beside being told."""

    MANAGER = "manager"
    """May take an alert out of service, and is rung last."""
    DUTY = "duty"
    CONTRACTOR = "contractor"
    ENGINEER = "engineer"


class QuietHours(Document):
    """Hours in which somebody is only told what cannot wait; yard time; they may pass midnight."""

    begins: time
    ends: time

    def holds(self, at: time) -> bool:
        """Whether a time of day lies in them."""
        if self.begins <= self.ends:
            return self.begins <= at < self.ends
        return at >= self.begins or at < self.ends


class YardPerson(Document):
    """Somebody of the yard, or an owner who is reached otherwise than by e-mail alone.

    An owner in a vessel's record is this person where both have the same e-mail address.
    """

    id: Slug
    name: Name
    email: EmailAddress | None = None
    roles: tuple[Role, ...] = ()
    channels: tuple[Channel, ...] = ()
    language: Language = "en"
    quiet: QuietHours | None = None


class Duty(Document):
    """Who has the duty: ids of people, in the order in which they are told."""

    first: tuple[Slug, ...] = ()
    second: tuple[Slug, ...] = ()
    manager: tuple[Slug, ...] = ()


class Rota(Document):
    """Who has the duty in which week (ISO 8601, such as ``2026-W48``), from Monday at ``changes_at``, yard time."""

    usual: Duty = Duty()
    weeks: dict[Annotated[str, Field(pattern=r"^\d{4}-W(0[1-9]|[1-4]\d|5[0-3])$")], Duty] = Field(default_factory=dict)
    changes_at: time = time(8)


class Ladder(Document):
    """When who is told: the settings' table ``[telling]``. Times in minutes of event time unless the name says so."""

    gather_min: Annotated[float, Field(ge=0, le=60)] = 10
    """A warning waits so long for others of the same boat or night, so that they go in one message."""
    second_after_min: Annotated[float, Field(gt=0, le=1440)] = 15
    manager_after_min: Annotated[float, Field(gt=0, le=1440)] = 30
    owner_after_min: Annotated[float, Field(ge=0, le=1440)] = 15
    """An owner is told once somebody has it, or after so long."""
    repeat_min: Annotated[float, Field(gt=0, le=1440)] = 60
    repeat_at_most: Annotated[int, Field(ge=0, le=100)] = 6
    warning_rings_after_h: Annotated[float, Field(gt=0, le=240)] = 4
    """A warning that nobody has acknowledged for so long, quiet hours not counted, is told as an alarm is."""
    attendance_h: Annotated[float, Field(gt=0, le=72)] = 2
    """How long it takes until somebody stands beside her: a warning breaks quiet hours where waiting for their end
    would leave less than this before the low time to harm."""
    digest_at: time = time(8)
    fleet_from: Annotated[int, Field(ge=2, le=1_000)] = 3
    """So many boats with the same trouble at once are one fleet event."""
    fleet_within_min: Annotated[float, Field(gt=0, le=1440)] = 60

    @model_validator(mode="after")
    def _steps_rise(self) -> Self:
        if self.manager_after_min < self.second_after_min:
            raise ValueError("manager_after_min must not be less than second_after_min")
        return self

"""What people send when they do something about an alert or a vessel: one shape for pages, API and command line."""

from abc import abstractmethod
from typing import Annotated, Self
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, Field, model_validator

from monitor.alerting.limits import LIMITS
from monitor.model.alert import Alert
from monitor.model.inputs import (
    Aboard,
    Accept,
    Acknowledge,
    AlertCommand,
    BringBack,
    Confirm,
    EndSuppression,
    HandOver,
    Shelve,
    Suppress,
    TakeOut,
)
from monitor.model.scale import Priority
from monitor.web.until import Until, until_ms


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _named(text: str) -> str:
    name = _one_line(text)
    if not name:
        raise ValueError("Write who you are: the next person wants to know whom to ask.")
    return name


def _whom(text: str) -> str:
    name = _one_line(text)
    if not name:
        raise ValueError("Write to whom: they have it once they say yes.")
    return name


def _said(text: str) -> str:
    line = _one_line(text)
    if not line:
        raise ValueError("Write a few words: the next person has only these to go by.")
    return line


_BY = "one of the settings' people by name, id, or how it begins"
Name = Annotated[str, Field(max_length=80, description=f"who does it: {_BY}; else a visitor"), AfterValidator(_named)]
Other = Annotated[str, Field(max_length=80, description=f"to whom: {_BY}, or her owner"), AfterValidator(_whom)]
Words = Annotated[str, Field(max_length=500), AfterValidator(_one_line)]
NeededWords = Annotated[str, Field(max_length=500), AfterValidator(_said)]


class AlertAct(BaseModel):
    """Something a person does about an alert."""

    name: Name

    @abstractmethod
    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> AlertCommand:
        """Give it as the watch takes it.

        Raises:
            UntilError: where a time in it is no time.
        """


class AcknowledgeIn(AlertAct):
    """Who has seen an alert, and what they have to say."""

    note: Words = ""

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> Acknowledge:
        """Give it as the watch takes it."""
        del zone
        return Acknowledge(alert.vessel, alert.id, at_ms, self.name, self.note)


class ConfirmIn(AlertAct):
    """Who went aboard, and what they found."""

    note: Words = ""
    nothing_wrong: Annotated[bool, Field(description="whether they found nothing of what it told")] = False

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not (self.note or self.nothing_wrong):
            raise ValueError("Write what you found aboard, or say that nothing of it was so.")
        return self

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> Confirm:
        """Give it as the watch takes it."""
        del zone
        return Confirm(alert.vessel, alert.id, at_ms, self.name, self.note, self.nothing_wrong)


class HandOverIn(AlertAct):
    """Who gives an alert into whose hands; the other has it once they accept it."""

    to: Other
    note: Words = ""

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> HandOver:
        """Give it as the watch takes it."""
        del zone
        return HandOver(alert.vessel, alert.id, at_ms, self.name, self.to, self.note)


class AcceptIn(AlertAct):
    """Who takes an alert."""

    note: Words = ""

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> Accept:
        """Give it as the watch takes it."""
        del zone
        return Accept(alert.vessel, alert.id, at_ms, self.name, self.note)


class ShelveIn(AlertAct):
    """Who puts an alert aside, why, and until when: nobody is told of it meanwhile."""

    reason: NeededWords
    until: Until

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> Shelve:
        """Give it as the watch takes it."""
        most_ms = LIMITS.ms("shelf_most_alarm" if alert.priority is Priority.ALARM else "shelf_most")
        end_ms = until_ms(self.until, at_ms, zone, most_ms)
        return Shelve(alert.vessel, alert.id, at_ms, self.name, self.reason, end_ms)


class BringBackIn(AlertAct):
    """Who brings an alert back that was put aside."""

    note: Words = ""

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> BringBack:
        """Give it as the watch takes it."""
        del zone
        return BringBack(alert.vessel, alert.id, at_ms, self.name, self.note)


class TakeOutIn(AlertAct):
    """Which manager takes an alert out of service, and why: until a manager brings it back."""

    reason: NeededWords

    def command(self, alert: Alert, at_ms: int, zone: ZoneInfo) -> TakeOut:
        """Give it as the watch takes it."""
        del zone
        return TakeOut(alert.vessel, alert.id, at_ms, self.name, self.reason)


ALERT_ACTS: dict[str, type[AlertAct]] = {
    "acknowledge": AcknowledgeIn,
    "confirm": ConfirmIn,
    "hand-over": HandOverIn,
    "accept": AcceptIn,
    "shelve": ShelveIn,
    "bring-back": BringBackIn,
    "out-of-service": TakeOutIn,
}
"""What can be done about an alert, by its word in addresses."""


class AboardIn(BaseModel):
    """What is done aboard, by whom and until when: her alerts are put aside meanwhile, but for water."""

    name: Name
    reason: Aboard
    until: Until
    note: Words = ""

    def command(self, vessel: str, at_ms: int, zone: ZoneInfo) -> Suppress:
        """Give it as the watch takes it.

        Raises:
            UntilError: where the end is no time.
        """
        end_ms = until_ms(self.until, at_ms, zone, LIMITS.ms("suppress_most"))
        return Suppress(vessel, at_ms, self.name, self.reason, end_ms, self.note)


class AshoreIn(BaseModel):
    """Who says that what was done aboard is over."""

    name: Name

    def command(self, vessel: str, at_ms: int, zone: ZoneInfo) -> EndSuppression:
        """Give it as the watch takes it."""
        del zone
        return EndSuppression(vessel, at_ms, self.name)

"""What the API gives of calls, messages to people, and the alert load. Times are RFC 3339 in UTC; never an address."""

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import BaseModel, Field

from monitor.model.call import Call
from monitor.model.views import NoticeLine
from monitor.web.alert_load import Load, Worn
from monitor.web.notice_words import error_shown
from monitor.web.shapes import instant, maybe


class CallOut(BaseModel):
    """What people are told as one: all that is wrong with a vessel, or one trouble of many of them."""

    id: str
    kind: str
    about: Annotated[str, Field(description="the vessel's id, or what befalls the fleet")]
    title: str
    priority: str | None
    opened: datetime
    ended: datetime | None
    accepted: Annotated[datetime | None, Field(description="since when somebody has all of it")]
    accepted_by: str | None
    rung: Annotated[int, Field(description="0 nobody was told yet, 1 duty, 2 the second too, 3 the manager too")]
    vessels: list[str]
    alerts: Annotated[list[str], Field(description="least time to harm first, then in walking order")]

    @classmethod
    def of(cls, call: Call, title: str, vessels: tuple[str, ...], alerts: list[str]) -> Self:
        """Give a call as data, with the vessels and alerts that may be seen."""
        return cls(
            id=call.id,
            kind=call.kind,
            about=call.about,
            title=title,
            priority=None if call.priority is None else call.priority.word,
            opened=instant(call.opened_ms),
            ended=maybe(call.ended_ms),
            accepted=maybe(call.accepted_ms),
            accepted_by=call.accepted_by,
            rung=call.rung,
            vessels=list(vessels),
            alerts=alerts,
        )


class NoticeOut(BaseModel):
    """A message to somebody, and what has come of it; ``sent`` is wall time."""

    id: str
    call: str
    person: str
    channel: str
    kind: str
    at: datetime
    vessel: str | None
    alerts: list[str]
    reason: str
    state: Literal["sent", "waits", "failing", "given up"]
    sent: datetime | None
    tries: int
    error: str

    @classmethod
    def of(cls, line: NoticeLine) -> Self:
        """Give a notice as data, without its address."""
        notice = line.notice
        return cls(
            id=notice.id,
            call=notice.call,
            person=notice.person,
            channel=notice.channel,
            kind=notice.kind,
            at=instant(notice.at_ms),
            vessel=notice.vessel,
            alerts=list(notice.alerts),
            reason=notice.reason,
            state=_state(line),
            sent=maybe(line.sent_ms),
            tries=line.tries,
            error=error_shown(line),
        )


class CallWithNotices(CallOut):
    """A call and who was told of it, oldest first."""

    notices: list[NoticeOut]


class WornOut(BaseModel):
    """An alert that wears people out."""

    alert: str
    vessel: str
    rule: str
    subject: str
    opened: datetime
    times: Annotated[int | None, Field(description="how often it came back within a day, where that is why")]

    @classmethod
    def of(cls, worn: Worn) -> Self:
        """Give it as data."""
        alert = worn.alert
        opened = instant(alert.opened_ms)
        return cls(
            alert=alert.id,
            vessel=alert.vessel,
            rule=alert.rule,
            subject=alert.subject,
            opened=opened,
            times=worn.times,
        )


class LoadOut(BaseModel):
    """The alerts of the days up to now."""

    days: float
    opened: Annotated[dict[str, int], Field(description="how many opened, by the priority they opened with")]
    highest: Annotated[dict[str, int], Field(description="the same by the highest priority each has reached since")]
    standing: Annotated[list[WornOut], Field(description="open for more than a week")]
    chattering: Annotated[list[WornOut], Field(description="came back three times or more within a day")]

    @classmethod
    def of(cls, load: Load) -> Self:
        """Give the load as data."""
        return cls(
            days=load.measured.days,
            opened={priority.word: count for priority, count in load.measured.opened.items()},
            highest={priority.word: count for priority, count in load.highest.items()},
            standing=[WornOut.of(worn) for worn in load.standing],
            chattering=[WornOut.of(worn) for worn in load.chattering],
        )


def _state(line: NoticeLine) -> Literal["sent", "waits", "failing", "given up"]:
    if line.sent_ms is not None:
        return "sent"
    if line.given_up_ms is not None:
        return "given up"
    return "failing" if line.tries else "waits"

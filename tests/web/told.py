"""What people were told, kept in memory: stands in for the journal's calls and visits."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.model.alert import Alert
from monitor.model.call import Call, CallKind
from monitor.model.inputs import VisitReport
from monitor.model.notice import Notice, NoticeKind
from monitor.model.scale import Priority
from monitor.model.views import AlertLoad, NoticeLine


@dataclass
class Told:
    """Calls, notices, links used, and visits."""

    made: list[Call] = field(default_factory=list)
    lines: list[NoticeLine] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    found: list[VisitReport] = field(default_factory=list)
    measured: AlertLoad = field(
        default_factory=lambda: AlertLoad(7.0, {Priority.ALARM: 2, Priority.WARNING: 14, Priority.CAUTION: 0}, (), ())
    )

    def calls(self, *, open_only: bool, limit: int = 1_000) -> list[Call]:
        found = [c for c in self.made if not (open_only and c.ended_ms is not None)]
        return sorted(found, key=lambda c: -c.opened_ms)[:limit]

    def call(self, call: str) -> Call | None:
        return next((c for c in self.made if c.id == call), None)

    def notice(self, notice: str) -> NoticeLine | None:
        return next((line for line in self.lines if line.notice.id == notice), None)

    def notices(self, call: str) -> list[NoticeLine]:
        return [line for line in self.lines if line.notice.call == call]

    def undelivered(self, now_ms: int, limit: int = 200) -> list[NoticeLine]:
        del now_ms
        return [n for n in self.lines if n.sent_ms is None and (n.given_up_ms is not None or n.tries)][:limit]

    def link_used(self, notice: str) -> bool:
        return notice in self.used

    def load(self, from_ms: int, to_ms: int) -> AlertLoad:
        assert from_ms < to_ms
        return self.measured

    def visits(self, vessel: str | None = None, limit: int = 200) -> list[VisitReport]:
        return [v for v in self.found if vessel in {None, v.vessel}][:limit]


def call_of(alerts: Sequence[Alert], about: str, kind: CallKind = CallKind.VESSEL, call: str = "c" * 16) -> Call:
    """Give a call of some alerts, in their order."""
    vessels = tuple(dict.fromkeys(a.vessel for a in alerts))
    opened_ms = min(a.opened_ms for a in alerts)
    return Call(call, kind, about, opened_ms, max(a.priority for a in alerts), tuple(a.id for a in alerts), vessels)


def notice_of(call: Call, person: str = "Anna Tolley", number: int = 0, vessel: str | None = None) -> Notice:
    """Give a notice of a call."""
    return Notice(
        id=f"{number:024x}",
        channel="email",
        address="anna@example.org",
        person=person,
        call=call.id,
        kind=NoticeKind.NEW,
        alerts=call.alerts,
        at_ms=call.opened_ms,
        reason="has the duty",
        vessel=vessel,
    )


def line_of(
    notice: Notice, *, sent_ms: int | None = None, given_up_ms: int | None = None, tries: int = 0, error: str = ""
) -> NoticeLine:
    """Give a notice with what came of it."""
    return NoticeLine(notice, sent_ms, given_up_ms, tries, notice.at_ms, error)

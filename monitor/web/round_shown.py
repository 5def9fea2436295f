"""A boat of the round in words, and what came of a visit to her."""

from dataclasses import dataclass

from monitor.messages.words import title_of
from monitor.model.alert import Alert
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from monitor.record.checks import Check, Taking, takings_for
from monitor.record.compare import Agreement, Comparison
from monitor.record.round import Reason, Stop
from monitor.web.card_shown import CardLine, card_lines
from monitor.web.clock import YardClock
from monitor.web.ranks import Rank, rank_of
from monitor.web.round_words import apart, reading, said, say, taking_name

_IN_WATER = {Quantity.LEVEL, Quantity.FLOAT_SWITCH}


@dataclass(frozen=True, slots=True)
class ReasonShown:
    """A reason with its shape, its word and its sentence."""

    rank: Rank
    word: str
    text: str


@dataclass(frozen=True, slots=True)
class TakingShown:
    """A reading to take: the name of its field, how it is called, how to take it, and its unit."""

    key: str
    name: str
    how: str
    unit: str


@dataclass(frozen=True, slots=True)
class AlertToConfirm:
    """An open alert that the form asks about, and who was aboard for it before."""

    key: str
    alert: Alert
    rank: Rank
    title: str
    aboard: str


@dataclass(frozen=True, slots=True)
class StopShown:
    """A boat of the round in words."""

    stop: Stop
    clock: YardClock

    @property
    def vessel(self) -> Vessel:
        """Her record."""
        return self.stop.vessel

    @property
    def reasons(self) -> list[ReasonShown]:
        """Why somebody should go aboard, most pressing first."""
        return [self._reason(r) for r in self.stop.reasons]

    @property
    def checks(self) -> list[tuple[str, str]]:
        """What to look at, as (code, words)."""
        return [(check.code, check_words(check)) for check in self.stop.checks]

    @property
    def takings(self) -> list[TakingShown]:
        """What to read by hand."""
        return [_taking(t) for t in self.stop.takings]

    @property
    def card(self) -> list[CardLine]:
        """What whoever goes to her has to know; what nobody wrote down is left out."""
        return card_lines(self.vessel.card)

    @property
    def cautions(self) -> list[str]:
        """What not to forget."""
        return [said("cautions", code) for code in self.stop.cautions]

    @property
    def alerts(self) -> list[AlertToConfirm]:
        """Her open alerts."""
        return [
            AlertToConfirm(f"alerts.{a.id}", a, rank_of(a), self._title(a), self._aboard(a)) for a in self.stop.alerts
        ]

    def _reason(self, reason: Reason) -> ReasonShown:
        names: dict[str, str | bool] = {}
        if reason.alert is not None:
            names |= {"title": self._title(reason.alert), "aboard": self._aboard(reason.alert)}
        if reason.due is not None:
            due, last = self.clock.day(reason.due.on), self.clock.day(reason.due.last)
            names |= {"due": due, "last": last, "visited": reason.due.visited}
        code = reason.why.code
        rank = Rank.THIS_WEEK if reason.alert is None else rank_of(reason.alert)
        return ReasonShown(rank, said("word", code), say("why", code, **names))

    def _aboard(self, alert: Alert) -> str:
        """Say who was aboard for an alert that stands all the same; empty where nobody was, or it has cleared."""
        if alert.confirmed_ms is None or alert.confirmed_by is None or alert.returned_ms is not None:
            return ""
        return say("aboard", "stands", who=alert.confirmed_by, at=self.clock.at(alert.confirmed_ms))

    def _title(self, alert: Alert) -> str:
        return title_of(alert.finding, self.vessel, self.clock.zone, self.clock.now_ms)


def check_words(check: Check) -> str:
    """Give what to look at in words."""
    names = {"name": "", "place": "", "post": "", "switch": "", "reason": "", "note": ""}
    quantity = check.facts.get("quantity")
    sensor = said("sensors", quantity) if isinstance(quantity, str) else ""
    return say("checks", check.kind, sensor=sensor, in_water=quantity in _IN_WATER, **(names | check.facts))


def compared_words(comparison: Comparison, record: Vessel, clock: YardClock) -> tuple[str, str, str]:
    """Give what came of a comparison: the name of what was read, a word, and a sentence."""
    hand, what = comparison.reading, comparison.reading.what
    names = {"read": reading(what, hand.value)}
    if hand.sensor_value is not None and hand.sensor_ms is not None:
        names |= {"said": reading(what, hand.sensor_value), "at": clock.at(hand.sensor_ms)}
    if comparison.verdict is Agreement.DIFFER:
        far, most = comparison.difference or 0.0, comparison.allowed or 0.0
        more = int(apart(what, far) == apart(what, most))
        names |= {"difference": apart(what, far, more), "allowed": apart(what, most, more)}
        names["trust"] = said("trust", what.value)
    verdict = comparison.verdict.value
    things = {t.subject: t.name for t in takings_for(record)}
    thing = things.get(hand.subject, hand.subject)
    name = taking_name(Taking(what, hand.subject, thing, hand.sensor))
    return name, said("compared_word", verdict), say("compared", verdict, **names)


def _taking(taking: Taking) -> TakingShown:
    what = taking.what.value
    key = f"readings.{what}.{taking.subject}"
    return TakingShown(key, taking_name(taking), said("takings", what, "how"), said("takings", what, "unit"))

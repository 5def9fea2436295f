"""A finding put into words: what is wrong, how sure, how long until harm, why, what to do first and what not to do.

Rules name kinds and codes; ``<language>/<rule>.toml`` has their words. Where words are missing, the message falls back
to a plain sentence that is true, says so in the log once a code, and counts it in `missing`: a message in the night
matters more than its style. With ``strict`` it raises instead, which is what tests want.
"""

import logging
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from tomllib import TOMLDecodeError
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Template, TemplateError

from monitor.messages.basis import basis
from monitor.messages.figures import Figures
from monitor.messages.harm import evidence_ms, how_long, left
from monitor.messages.phrases import FALLBACK_LANGUAGE, Common, MissingWordsError, common, rule_words
from monitor.messages.plain import capital, one_line
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Vessel

log = logging.getLogger(__name__)

missing: Counter[str] = Counter()
"""How often words were missing, by rule and code, since the program started."""

_RENDERING = (MissingWordsError, TemplateError, TOMLDecodeError, LookupError, TypeError, ValueError, ArithmeticError)


@dataclass(frozen=True, slots=True)
class Words:
    """A finding in words. Every part is plain text of one line, not escaped for any markup.

    Attributes:
        title: what is wrong, without a full stop.
        what: the figures of it in a sentence or two.
        sure: how sure.
        how_long: how long until harm if nobody acts.
        left: the same in a few words.
        causes: likely causes, most likely first.
        first: what to do, in order.
        never: what not to do.
        aboard: what to look at aboard once it has cleared, where its rule says.
        figures: what it rests on, as (label, value).
    """

    title: str
    what: str
    sure: str
    how_long: str
    left: str
    causes: tuple[str, ...]
    first: tuple[str, ...]
    never: tuple[str, ...]
    aboard: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]


def put_into_words(
    finding: Finding,
    vessel: Vessel,
    zone: ZoneInfo,
    now_ms: int,
    language: str = FALLBACK_LANGUAGE,
    *,
    strict: bool = False,
) -> Words:
    """Put a finding into words.

    Args:
        finding: what the rule says.
        vessel: the record of the vessel it is about.
        zone: the yard's time zone.
        now_ms: the vessel's time now (ms UTC): today's times are told without their day.
        language: language of the words; English stands in where a file is not translated.
        strict: raise where words are missing, instead of falling back.

    Raises:
        MissingWordsError: only when strict.
    """
    return _Speaker(finding, vessel, zone, now_ms, language, strict=strict).words()


def title_of(finding: Finding, vessel: Vessel, zone: ZoneInfo, now_ms: int, language: str = FALLBACK_LANGUAGE) -> str:
    """Say what is wrong, as `put_into_words` does in its title: a list of thousands needs no more."""
    return _Speaker(finding, vessel, zone, now_ms, language, strict=False).title()


def sentence(
    alert: Alert,
    vessel: Vessel,
    zone: ZoneInfo,
    now_ms: int,
    language: str = FALLBACK_LANGUAGE,
    *,
    strict: bool = False,
) -> str:
    """Put an alert into one short line for a list: what is wrong and since when, or that it has cleared or ended."""
    speaker = _Speaker(alert.finding, vessel, zone, now_ms, language, strict=strict)
    shown = speaker.common
    times = {"since": alert.opened_ms, "returned": alert.returned_ms, "ended": alert.ended_ms}
    clocks = {k: shown.figures.clock(t, now_ms, zone) for k, t in times.items() if t is not None}
    aside = aside_words(alert, zone, now_ms, language)
    return shown.template("lines", _line_of(alert)).render(title=speaker.title(), aside=aside, **clocks)


def _line_of(alert: Alert) -> str:
    if alert.ended_ms is not None:
        return "ended"
    if alert.state.is_aside:
        return "aside"
    if alert.returned_ms is None:
        return "open"
    return "latched" if alert.state is AlertState.LATCHED else "returned"


def aside_words(alert: Alert, zone: ZoneInfo, now_ms: int, language: str = FALLBACK_LANGUAGE) -> str:
    """Say who put an alert aside until when and why, inside a sentence; empty where nobody has."""
    if not alert.state.is_aside:
        return ""
    shown = common(language)
    who, why = one_line(alert.aside_by or "", 80), one_line(alert.aside_why).rstrip(".")
    if alert.aside_until_ms is None:
        return shown.template("aside", "manager").render(who=who, why=why)
    until = shown.figures.clock(alert.aside_until_ms, now_ms, zone)
    return shown.template("aside", "until").render(until=until, who=who, why=why)


def priority_words(priority: Priority, language: str = FALLBACK_LANGUAGE) -> str:
    """Say how soon somebody must act, such as ``Act now``."""
    return common(language).template("priority", priority.word).render()


def change_line(event: AlertEvent, language: str = FALLBACK_LANGUAGE) -> str:
    """Put one entry of an alert's log into a line, such as ``Seen by Anna: went down to look``."""
    actor = "" if event.actor == "watch" else one_line(event.actor, 80)
    words = priority_words(event.priority, language)
    line = common(language).template("changes", event.change.value, "line").render(priority=words, actor=actor)
    return f"{line}: {one_line(event.note)}" if event.note.strip() else line


def change_sentence(change: AlertChange, priority: Priority, actor: str = "", language: str = FALLBACK_LANGUAGE) -> str:
    """Say in a sentence what has happened to an alert."""
    words = priority_words(priority, language)
    shown = common(language).template("changes", change.value, "sentence")
    return capital(shown.render(priority=words, actor=one_line(actor, 80)))


def change_mark(change: AlertChange, priority: Priority, language: str = FALLBACK_LANGUAGE) -> str:
    """Give the word that leads a subject line: the priority, or what ended it."""
    return common(language).template("changes", change.value, "mark").render() or priority_words(priority, language)


def newest_ms(alert: Alert) -> int:
    """Give the newest time that an alert knows anything of: what a message that leaves the yard's clock is as of."""
    known = [alert.opened_ms, alert.returned_ms, alert.ended_ms, alert.acknowledged_ms, alert.confirmed_ms]
    return max(t for t in [*known, evidence_ms(alert.finding)] if t is not None)


class _Speaker:
    """Puts one finding into words."""

    def __init__(
        self, finding: Finding, vessel: Vessel, zone: ZoneInfo, now_ms: int, language: str, *, strict: bool
    ) -> None:
        self.finding, self.record, self.zone, self.now_ms = finding, vessel, zone, now_ms
        self.language, self.strict = language, strict
        self.common: Common = common(language)
        self.shown: Figures = self.common.figures
        facts = {k: one_line(v) if isinstance(v, str) else v for k, v in finding.facts.items()}
        self.names: dict[str, Any] = {
            **facts,
            "vessel": one_line(vessel.name),
            "place": one_line(vessel.place),
            "now_ms": now_ms,
            "zone": zone,
        }

    def words(self) -> Words:
        return Words(
            title=self.title(),
            what=capital(self._kind("what")),
            sure=self.common.template("sure", self.finding.sure.value).render(),
            how_long=how_long(self.finding, self.common, self.now_ms, self.zone),
            left=left(self.finding, self.common),
            causes=self._sentences("causes", self.finding.causes),
            first=self._sentences("first", self.finding.first),
            never=self._sentences("never", self.finding.never),
            aboard=self._aboard(),
            figures=tuple(basis(self.finding, self.record, self.common, self._labels(), self.zone, self.now_ms)),
        )

    def title(self) -> str:
        return capital(self._kind("title"))

    def _kind(self, part: str) -> str:
        finding = self.finding
        try:
            return one_line(self._lookup("kinds", finding.kind)[part].render(self.names), 600)
        except _RENDERING as error:
            self._note(f"kinds.{finding.kind}.{part}", error)
            plain = {"rule": finding.rule, "kind": finding.kind, "subject": self._subject()}
            return self.common.template("fallback", part).render(plain)

    def _sentences(self, part: str, codes: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(self._code(part, code) for code in codes)

    def _code(self, part: str, code: str) -> str:
        try:
            template: Template = self._lookup(part, code)
            return capital(one_line(template.render(self.names), 600))
        except _RENDERING as error:
            self._note(f"{part}.{code}", error)
            return f"{capital(one_line(code).replace('_', ' '))}."

    def _lookup(self, part: str, code: str) -> Any:  # noqa: ANN401 - a template, or a kind's templates
        found: Mapping[str, Any] = getattr(rule_words(self.finding.rule, self.language), part)
        if code not in found:
            raise MissingWordsError(f"{self.finding.rule}.toml has no {part}.{code}")
        return found[code]

    def _note(self, key: str, error: Exception) -> None:
        where = f"{self.finding.rule}.{key}"
        if self.strict:
            raise MissingWordsError(f"{where}: {error}") from error
        missing[where] += 1
        if missing[where] == 1:
            log.error("no words for %s (%s): a plain sentence is sent instead", where, error)

    def _subject(self) -> str:
        name = self.finding.facts.get("name")
        return one_line(name if isinstance(name, str) else self.finding.subject)

    def _aboard(self) -> tuple[str, ...]:
        try:
            sentences = rule_words(self.finding.rule, self.language).aboard
            return tuple(one_line(template.render(self.names), 600) for template in sentences)
        except _RENDERING as error:
            self._note("aboard", error)
            return ()

    def _labels(self) -> Mapping[str, str]:
        try:
            return rule_words(self.finding.rule, self.language).figures
        except _RENDERING:
            return {}

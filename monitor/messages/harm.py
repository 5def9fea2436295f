"""How long until harm, as a sentence and as a few words for lists."""

from zoneinfo import ZoneInfo

from monitor.messages.phrases import Common
from monitor.model.finding import Finding, TimeToHarm

STALE_MS = 30 * 60_000
_MINUTE_S = 60.0
FORETOLD = frozenset({"recharge_ms", "recharge_low_ms", "recharge_high_ms", "freeze_ms", "cut_end_ms"})
"""Facts that name a time to come: nothing has been seen then."""


def how_long(finding: Finding, words: Common, now_ms: int, zone: ZoneInfo) -> str:
    """Say how long until harm if nobody acts, or that it clears; where the finding is old, also from when it counts."""
    if finding.over:
        return words.template("harm", "waits" if finding.latches else "over").render()
    line = _said("harm", finding.harm, words)
    return f"{line}{_counted(finding, words, now_ms, zone)}"


def left(finding: Finding, words: Common) -> str:
    """Say the same in a few words, for a list."""
    if finding.over:
        return words.template("harm_short", "waits" if finding.latches else "over").render()
    return _said("harm_short", finding.harm, words)


def evidence_ms(finding: Finding) -> int | None:
    """Give the newest time that a finding rests on or tells of as past, None where it has none."""
    told = {k: v for k, v in finding.facts.items() if k.endswith("_ms") and k not in FORETOLD}
    named = [v for v in told.values() if isinstance(v, int)]
    return max([seen.at_ms for seen in finding.rests_on] + named, default=None)


def _said(section: str, harm: TimeToHarm | None, words: Common) -> str:
    if harm is None:
        return words.template(section, "not said").render()
    shown, low_s, high_s = words.figures, max(harm.low_s, 0.0), harm.high_s
    if low_s == 0.0 and not high_s:
        return words.template(section, "begun").render()
    if high_s is None and low_s < _MINUTE_S:
        said, low, high = "moment", "", ""
    elif high_s is None:
        said, low, high = "at least", shown.span(low_s, int), ""
    elif shown.span(high_s) == shown.span(low_s):
        said, low, high = "about", shown.span(low_s), ""
    elif low_s == 0.0:
        said, low, high = "at once", "", shown.span(high_s)
    else:
        said, (low, high) = "between", shown.spans(low_s, high_s)
    return words.template(section, said).render(low=low, high=high)


def _counted(finding: Finding, words: Common, now_ms: int, zone: ZoneInfo) -> str:
    newest = evidence_ms(finding)
    if finding.harm is None or newest is None or now_ms - newest <= STALE_MS:
        return ""
    if finding.harm.low_s <= 0 and not finding.harm.high_s:
        return ""
    return f" {words.template('harm', 'counted').render(at=words.figures.clock(newest, now_ms, zone))}"

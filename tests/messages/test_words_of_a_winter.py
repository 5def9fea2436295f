"""Every alert of the demo's winter, put into words and letters with nothing missing."""

import re

import pytest
from examples import HEAD, call, notice, waiting

from monitor.cli.replay import take
from monitor.fleet import Fleet, NothingStored
from monitor.messages.letter import write_letter
from monitor.messages.short import write_short
from monitor.messages.words import missing, newest_ms, put_into_words, sentence
from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.inputs import RecordVersion
from monitor.model.notice import NoticeKind
from monitor.model.vessel import Vessel
from simulator.winter import yard_winter

KINDS = {
    AlertChange.OPENED: NoticeKind.NEW,
    AlertChange.PRIORITY: NoticeKind.WORSE,
    AlertChange.REOPENED: NoticeKind.BACK,
    AlertChange.RETURNED: NoticeKind.OVER,
    AlertChange.LATCHED: NoticeKind.OVER,
    AlertChange.ENDED: NoticeKind.OVER,
}


@pytest.mark.slow
def test_every_alert_of_a_winter_has_all_its_words_and_none_says_safe() -> None:
    missing.clear()
    winter = yard_winter(3600)
    records = {vessel.id: vessel for vessel in winter.vessels}
    fleet = Fleet(NothingStored())
    for vessel in winter.vessels:
        fleet.command(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
    said: set[str] = set()
    for message in winter.stream():
        take(fleet, message)
        if fleet.filled >= 500:
            said |= _said(fleet.hand_over(), records)
    said |= _said(fleet.hand_over(), records)
    assert any(line.startswith("[Act now]") for line in said)
    assert any("waits for somebody to go aboard" in line for line in said)
    assert missing == {}
    for line in said:
        assert not re.search(r"\bsafe|\bNone\b|\bnan\b|\{|[^ ]  |\.\.", line), line


def _said(batch: Batch, records: dict[str, Vessel]) -> set[str]:
    said: set[str] = set()
    for alert in batch.alerts.values():
        vessel, now_ms = records[alert.vessel], newest_ms(alert)
        words = put_into_words(alert.finding, vessel, HEAD.zone, now_ms, strict=True)
        said |= {sentence(alert, vessel, HEAD.zone, now_ms, strict=True), words.what, words.how_long, words.left}
    for _, _, event in batch.events:
        alert, vessel = batch.alerts[event.alert], records[event.vessel]
        for owner in (False, True):
            told = notice(KINDS[event.change], at_ms=event.at_ms, vessel=vessel.id, owner=owner)
            due = waiting(told, (alert, vessel), about=call(about=vessel.id))
            letter = write_letter(due, HEAD, strict=True)
            title, body = write_short(due, HEAD, strict=True)
            said |= {letter.subject, title, *letter.text.splitlines(), *body.splitlines()}
    return said

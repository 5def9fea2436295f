"""Every alert of the demo's winter, put into words with nothing missing."""

import re
from datetime import UTC, datetime

import pytest
from examples import HEAD

from monitor.cli.replay import take
from monitor.fleet import Fleet, NothingStored
from monitor.messages.mail import write_mail
from monitor.messages.words import missing, newest_ms, put_into_words, sentence
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Person
from monitor.notify.plan import plan
from simulator.winter import yard_winter

DUTY = [Person(name="Per", email="per@yard.example")]


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
        if fleet.filled < 500:
            continue
        batch = fleet.hand_over()
        for alert in batch.alerts.values():
            vessel, now_ms = records[alert.vessel], newest_ms(alert)
            words = put_into_words(alert.finding, vessel, HEAD.zone, now_ms, strict=True)
            said |= {sentence(alert, vessel, HEAD.zone, now_ms, strict=True), words.what, words.how_long}
            said |= {*words.causes, *words.first, *words.never}
        for notice in plan(batch.events, batch.alerts, records.get, DUTY):
            date = datetime.fromtimestamp(notice.at_ms / 1000, UTC)
            mail = write_mail(notice, batch.alerts[notice.alert], records[notice.vessel], HEAD, date)
            said.add(str(mail["Subject"]))
    assert any(line.startswith("[Act now]") for line in said)
    assert missing == {}
    for line in said:
        assert not re.search(r"\bsafe|\bNone\b|\bnan\b|\{|  |\.\.", line), line

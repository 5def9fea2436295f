"""The battery rule through its off-delay: each kind that is over says so in words, with its volts of now."""

from zoneinfo import ZoneInfo

import pytest
from boats import HOUR, LAID_UP_MS
from test_battery import lived, record

from monitor.messages.words import put_into_words
from monitor.model.scale import Priority
from monitor.rules.battery import Batteries
from monitor.rules.last_word import LastWord

KINDS = ("low", "charger lost", "hidden load", "decline", "pump", "overcharge", "hot", "no volts")


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_over_is_worded_with_its_volts_and_when_the_alert_clears(kind: str) -> None:
    aboard = lived(record(), 48, lambda _: 12.7)
    rule, bank = Batteries(aboard.record), aboard.state.banks["house"]
    bank.told = LastWord(kind, Priority.WARNING, HOUR)
    (finding,) = rule.judge(aboard.state, aboard.now_ms)
    assert finding.over
    assert finding.harm is None
    told = put_into_words(finding, aboard.record, ZoneInfo("UTC"), aboard.now_ms, strict=True)
    assert "12.70 V" in told.what
    assert "this alert clears at" in told.what
    assert rule.judge(aboard.state, LAID_UP_MS + 49 * HOUR) == []
    assert bank.told is None

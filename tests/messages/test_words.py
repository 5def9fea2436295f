"""A finding in words, and what happens where words are missing."""

import logging
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from boats import HOUR, boat
from examples import NOW, RETEST, TERN, ZONE, alert, finding

from monitor.messages.cautions import cautions
from monitor.messages.figures import MINUS
from monitor.messages.phrases import MissingWordsError
from monitor.messages.words import (
    change_line,
    change_mark,
    change_sentence,
    missing,
    newest_ms,
    priority_words,
    put_into_words,
    sentence,
)
from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.finding import TimeToHarm
from monitor.model.scale import AlertState, Priority


def test_a_finding_says_what_is_wrong_how_sure_how_long_why_and_what_to_do() -> None:
    words = put_into_words(finding(), TERN, ZONE, NOW, strict=True)
    assert words.title == "Closed cooling is below its freezing point"
    assert f"{MINUS}20.4 °C" in words.what
    assert words.sure == "This is likely, not certain."
    assert words.how_long == "Perhaps 6 to 14 hours until harm if nobody acts."
    assert words.causes[0] == "The coolant is weaker than the night is cold."
    assert words.first[0] == RETEST
    assert words.never[1] == "Leave no portable heater running aboard with nobody there."
    assert words.figures == (
        ("Measured", f"{MINUS}20.4 °C"),
        ("Limit", f"{MINUS}20.0 °C"),
        ("Engine space, 12:50", f"{MINUS}20.4 °C"),
    )


@pytest.mark.parametrize(
    ("harm", "text"),
    [
        (None, "Nobody can say how long until harm."),
        (TimeToHarm(0.0, None), "Harm may have begun already."),
        (TimeToHarm(0.0, 7200.0), "Harm may begin at any moment, or perhaps in 2 hours, if nobody acts."),
        (TimeToHarm(6 * 3600.0, 14 * 3600.0), "Perhaps 6 to 14 hours until harm if nobody acts."),
        (TimeToHarm(2400.0, 9000.0), "Perhaps 40 minutes to 3 hours until harm if nobody acts."),
        (TimeToHarm(3600.0, 3700.0), "Perhaps 1 hour until harm if nobody acts."),
        (TimeToHarm(20.0, None), "Harm may begin at any moment if nobody acts."),
        (TimeToHarm(3 * 86400.0, None), "Perhaps 3 days or more until harm if nobody acts."),
    ],
)
def test_time_to_harm_is_a_plain_sentence(harm: TimeToHarm | None, text: str) -> None:
    assert put_into_words(finding(harm=harm), TERN, ZONE, NOW).how_long == text


def test_an_old_finding_says_when_its_time_to_harm_began_to_count() -> None:
    later = put_into_words(finding(), TERN, ZONE, NOW + 20 * HOUR)
    assert later.how_long.endswith("if nobody acts. Counted from Fri 12:50.")


def test_a_figure_that_does_not_change_over_longer_spans_is_told_once() -> None:
    margins = {"margin_12h_k": 2.84, "margin_24h_k": 2.8, "margin_48h_k": 2.8, "margin_96h_k": 0.4}
    told = put_into_words(finding(facts=finding().facts | margins), TERN, ZONE, NOW).figures
    assert [line for line in told if "margin" in line[0]] == [
        ("Lowest margin, next 2 days", "2.8 degrees"),
        ("Lowest margin, next 4 days", "0.4 degrees"),
    ]


def test_the_newest_time_is_that_of_readings_facts_and_changes() -> None:
    level = finding(facts={"name": "Bilge", "level_ms": NOW + HOUR, "highest_mm": 2 * NOW})
    assert newest_ms(alert()) == NOW
    assert newest_ms(alert(finding=level)) == NOW + HOUR
    assert newest_ms(alert(finding=level, returned_ms=NOW + 2 * HOUR)) == NOW + 2 * HOUR


def test_a_kind_without_words_becomes_a_plain_true_sentence_counted_and_logged_once(
    caplog: pytest.LogCaptureFixture,
) -> None:
    missing.clear()
    with caplog.at_level(logging.ERROR):
        for _ in range(3):
            words = put_into_words(finding(kind="new kind", first=("pump_her_out",)), TERN, ZONE, NOW)
    assert words.title == "The frost watch found something about Closed cooling"
    assert words.first == ("Pump her out.",)
    assert missing == {"frost.kinds.new kind.title": 3, "frost.kinds.new kind.what": 3, "frost.first.pump_her_out": 3}
    assert len(caplog.records) == 3


@pytest.mark.parametrize(
    "change",
    [{"kind": "new kind"}, {"causes": ("unheard_of",)}, {"facts": {"name": "Closed cooling"}}, {"rule": "nobody"}],
)
def test_strict_words_raise_what_would_fall_back(change: dict[str, object]) -> None:
    missing.clear()
    with pytest.raises(MissingWordsError):
        put_into_words(finding(**change), TERN, ZONE, NOW, strict=True)
    assert put_into_words(finding(**change), TERN, ZONE, NOW).title
    assert missing


def test_a_language_that_is_not_kept_is_english() -> None:
    assert put_into_words(finding(), TERN, ZONE, NOW, "xx") == put_into_words(finding(), TERN, ZONE, NOW)


def test_names_that_people_typed_stay_data_and_on_one_line() -> None:
    typed = "Cooling {{ 7 * 7 }}\r\n\u202e<b>x"
    facts = finding().facts | {"name": typed}
    words = put_into_words(finding(facts=facts), boat(name="Tern\nBcc: x"), ZONE, NOW)
    assert words.title == "Cooling {{ 7 * 7 }} <b>x is below its freezing point"


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({}, "Closed cooling is below its freezing point, since 13:00"),
        (
            {"returned_ms": NOW + HOUR},
            "Closed cooling is below its freezing point: cleared 14:00, and nobody has said they saw it",
        ),
        (
            {"returned_ms": NOW + HOUR, "ended_ms": NOW + 2 * HOUR},
            "Closed cooling is below its freezing point: over since 15:00",
        ),
        (
            {"returned_ms": NOW + HOUR, "state": AlertState.LATCHED},
            "Closed cooling is below its freezing point: cleared 14:00, and waits for somebody to go aboard",
        ),
        (
            {
                "state": AlertState.SHELVED,
                "aside_by": "Anna",
                "aside_why": "the painter is aboard.",
                "aside_until_ms": NOW + HOUR,
            },
            "Closed cooling is below its freezing point: put aside until 14:00 by Anna: the painter is aboard",
        ),
        (
            {"state": AlertState.OUT_OF_SERVICE, "aside_by": "Per", "aside_why": "frozen"},
            "Closed cooling is below its freezing point: put aside by Per until a manager brings it back: frozen",
        ),
    ],
)
def test_an_alert_is_one_line_in_a_list(changes: dict[str, Any], text: str) -> None:
    assert sentence(alert(**changes), TERN, ZONE, NOW + 3 * HOUR, strict=True) == text


@pytest.mark.parametrize(
    ("change", "actor", "note", "text"),
    [
        (AlertChange.OPENED, "watch", "", "Opened: soon"),
        (AlertChange.PRIORITY, "watch", "", "Now: soon"),
        (AlertChange.ACKNOWLEDGED, "Anna", "on my way\nnow", "Seen by Anna: on my way now"),
        (AlertChange.RETURNED, "watch", "", "Cleared, and nobody has said they saw it"),
        (AlertChange.REOPENED, "watch", "", "Back again: soon"),
        (AlertChange.LATCHED, "watch", "", "Cleared, and waits for somebody to go aboard"),
        (AlertChange.CONFIRMED, "Anna", "dry, hose tight", "Looked at aboard by Anna: dry, hose tight"),
        (AlertChange.HANDED_OVER, "Anna", "to Per", "Handed over by Anna: to Per"),
        (AlertChange.ACCEPTED, "Per", "", "Taken by Per"),
        (AlertChange.SHELVED, "Anna", "painter aboard", "Put aside by Anna: painter aboard"),
        (AlertChange.SUPPRESSED, "Anna", "wash-down", "Put aside while work is done aboard, by Anna: wash-down"),
        (AlertChange.OUT_OF_SERVICE, "Per", "", "Put aside by Per until a manager brings it back"),
        (AlertChange.BACK, "watch", "", "No longer put aside: soon"),
        (AlertChange.ENDED, "watch", "", "Over"),
        (AlertChange.ENDED, "Anna", "", "Over, closed by Anna"),
    ],
)
def test_every_change_of_an_alert_has_its_line(change: AlertChange, actor: str, note: str, text: str) -> None:
    event = AlertEvent("a", "tern", NOW, change, AlertState.UNACKNOWLEDGED, Priority.WARNING, actor, note)
    assert change_line(event) == text


@pytest.mark.parametrize("change", list(AlertChange))
def test_every_change_has_a_mark_and_a_sentence_without_names_of_states(change: AlertChange) -> None:
    said = f"{change_mark(change, Priority.WARNING)} {change_sentence(change, Priority.WARNING, 'Anna')}"
    assert said.endswith(".")
    for name in ("latched", "shelved", "suppressed", "unacknowledged", "out of service"):
        assert name not in said.lower()


def test_a_time_to_come_is_not_when_a_message_is_as_of() -> None:
    ahead = finding(facts={"name": "House bank", "recharge_ms": NOW + 60 * 24 * HOUR})
    assert newest_ms(alert(finding=ahead)) == NOW


def test_priorities_say_how_soon() -> None:
    assert [priority_words(p) for p in Priority] == ["This week", "Soon", "Act now"]


def test_every_message_says_that_it_is_advice_and_no_alarm() -> None:
    for rule in ("", "frost", "bilge", "some rule to come"):
        text = " ".join(cautions(rule))
        assert "advice only" in text
        assert "no fire, gas, carbon monoxide or intruder alarm" in text


def test_words_do_not_depend_on_the_zone_of_the_machine() -> None:
    assert put_into_words(finding(), TERN, ZoneInfo("UTC"), NOW).figures[2][0] == "Engine space, 17:50"

"""Letters: what the duty, an owner and the daily list are told, and what a late message still says."""

from dataclasses import replace
from typing import Any

import pytest
from boats import HOUR, boat
from examples import CARD, HEAD, NOW, RETEST, alert, call, finding, fleet, notice, waiting

from monitor.messages.letter import Letter, write_letter
from monitor.messages.short import write_short
from monitor.model.finding import TimeToHarm
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.scale import AlertState, Priority

TERN = boat(card=CARD)
LATCHED: dict[str, Any] = {"returned_ms": NOW + HOUR, "state": AlertState.LATCHED, "latching": True}
ENDED: dict[str, Any] = {"returned_ms": NOW + HOUR, "ended_ms": NOW + 2 * HOUR, "state": AlertState.NORMAL}
CLEARING: dict[str, Any] = {"finding": finding(over=True)}
SHELVED: dict[str, Any] = {
    "state": AlertState.SHELVED,
    "aside_by": "Per",
    "aside_why": "painter aboard",
    "aside_until_ms": NOW + HOUR,
}


def letter(due: Waiting) -> Letter:
    return write_letter(due, HEAD, strict=True)


def of(kind: NoticeKind = NoticeKind.NEW, *, owner: bool = False, **state: Any) -> Letter:
    return letter(waiting(notice(kind, owner=owner), (alert(**state), TERN)))


def test_the_duty_reads_in_the_order_in_which_they_need_it() -> None:
    text = of().text
    wanted = (
        "Act now. This is new.",
        "Closed cooling is below its freezing point.",
        "Tern, plot B4",
        "Perhaps 6 to 14 hours until harm if nobody acts.",
        "Nobody has it yet.",
        "I have it: http://127.0.0.1:8080/seen/",
        f"1. {RETEST}",
        "- Do not start the engine while there may be slush in it.",
        "- Keys: Yard office, hook 9",
        "- Battery isolator: Under the steps",
        "- The owner wrote: No shoes below, please",
        "Her page: http://127.0.0.1:8080/vessels/tern",
        "The coolant is weaker than the night is cold.",
        "This is likely, not certain.",
        "Temperatures. Engine space: cold.",
        "Engine space, 12:50",
        "This is advice only.",
        "You get this because: a new alert opened, and you have the duty.",
    )
    places = [text.index(part) for part in wanted]
    assert places == sorted(places)


def test_fields_of_the_card_that_nobody_filled_are_left_out() -> None:
    assert "Ladder" not in of().text
    assert "HER CARD" not in letter(waiting(notice(), (alert(), boat()))).text


@pytest.mark.parametrize("kind", [k for k in NoticeKind if k is not NoticeKind.TEST])
@pytest.mark.parametrize("state", [{}, LATCHED, ENDED, SHELVED, {"has_it": "Per"}])
def test_an_owner_gets_no_steps_no_card_and_no_link_to_acknowledge(kind: NoticeKind, state: dict[str, Any]) -> None:
    written = of(kind, owner=True, **state)
    for body in (written.text.lower(), written.html.lower()):
        for kept_back in ("do first", "do not\n", "refractometer", "hook 9", "under the steps", "her card", "/seen/"):
            assert kept_back not in body, kept_back


def test_an_owner_is_told_who_has_it_and_not_to_board() -> None:
    written = of(owner=True, has_it="Per")
    assert written.subject.startswith("[Per has it] Tern, plot B4")
    assert "Per has it for Quay Yard. You need not come, and please do not board." in written.text


def test_an_owner_is_told_that_nobody_has_answered_yet() -> None:
    written = of(owner=True)
    assert written.subject.startswith("[Urgent]")
    assert "Nobody from Quay Yard has it yet. Please do not board." in written.text


def test_an_owner_who_has_it_themselves_is_asked_to_ring_first() -> None:
    assert "You have it yourself. Please ring Quay Yard before you board." in of(owner=True, has_it="Anna").text


def test_an_owner_hears_only_that_somebody_has_to_look_at_what_waits_for_it() -> None:
    text = of(NoticeKind.OVER, owner=True, **LATCHED).text
    assert "Somebody from Quay Yard has to go aboard and look. Please do not board." in text
    assert "WHAT SOMEBODY HAS TO DO" not in text
    assert "go and look" not in text.lower()


@pytest.mark.parametrize(
    ("kind", "state", "first_line"),
    [
        (NoticeKind.NEW, {}, "Act now. This is new."),
        (NoticeKind.WORSE, {"has_it": "Per"}, "Act now. It has got worse."),
        (NoticeKind.MORE, {}, "Act now. More is wrong with her than you were told before."),
        (NoticeKind.BACK, {}, "Act now. It is back."),
        (
            NoticeKind.HANDED,
            {"has_it": "Per", "offered_to": "Anna"},
            "A reason. You have it once you have accepted it.",
        ),
        (NoticeKind.HANDED, {"has_it": "Anna"}, "You have it now."),
        (NoticeKind.NEW, CLEARING, "Clearing. It is over, if it stays so."),
        (NoticeKind.AGAIN, CLEARING, "Clearing. Nobody has it yet, so you are told again."),
        (NoticeKind.HANDED, {"has_it": "Per", "offered_to": "Ilse"}, "Per has it now."),
        (NoticeKind.HANDED, {}, "Act now. Nobody has it any more."),
        (NoticeKind.UNACCEPTED, {"has_it": "Anna", "offered_to": "Per"}, "Act now. A reason."),
        (NoticeKind.UNACCEPTED, {"has_it": "Per"}, "Per has it now."),
        (NoticeKind.UNREACHED, {"has_it": "Per"}, "Act now. A reason."),
        (NoticeKind.ASIDE, SHELVED, "It has been put aside."),
        (NoticeKind.ASIDE, {}, "Act now. It is back."),
        (NoticeKind.AGAIN, {}, "Act now. Nobody has it yet, so you are told again."),
        (NoticeKind.AGAIN, {"has_it": "Per"}, "Per has it now."),
        (NoticeKind.ESCALATED, {}, "Act now. Nobody has it yet, and you are next to be told."),
        (NoticeKind.TAKEN, {"has_it": "Per"}, "Per has it now."),
        (NoticeKind.TAKEN, {"has_it": "Anna"}, "You have it now."),
        (NoticeKind.TAKEN, {}, "Act now. Nobody has it any more."),
        (NoticeKind.OVER, {"returned_ms": NOW + HOUR}, "It has cleared."),
        (NoticeKind.OVER, ENDED, "Over. It has cleared."),
        (NoticeKind.OVER, {}, "Act now. It had cleared, and is back."),
        (NoticeKind.NEW, LATCHED, "Cleared, go and look. It has cleared meanwhile: "),
        (NoticeKind.NEW, SHELVED, "It has been put aside meanwhile."),
    ],
)
def test_the_first_line_is_true_when_it_is_written(kind: NoticeKind, state: dict[str, Any], first_line: str) -> None:
    told = waiting(notice(kind, reason="a reason"), (alert(**state), TERN))
    assert letter(told).text.startswith(f"{first_line}")


def test_what_clears_is_not_said_to_do_harm_and_leads_nothing_that_stands() -> None:
    text = of(**CLEARING).text
    assert text.startswith("Clearing. It is over, if it stays so.\n")
    assert "until harm" not in text
    assert "It clears by itself if this goes on." in of(owner=True, **CLEARING).text
    lesser = alert(id="2", priority=Priority.CAUTION, finding=finding(kind="wet"))
    both = letter(waiting(notice(), (alert(**CLEARING), TERN), (lesser, TERN)))
    assert both.subject.startswith("[This week] Tern, plot B4: Closed cooling: left without proof")
    assert "Closed cooling is below its freezing point.\n  Clearing. Nobody has it yet." in both.text


@pytest.mark.parametrize("kind", [NoticeKind.AGAIN, NoticeKind.ESCALATED, NoticeKind.TAKEN])
@pytest.mark.parametrize(
    ("state", "who"), [({}, "obody has it"), ({"has_it": "Per"}, "Per has it"), ({"has_it": "Anna"}, "You have it")]
)
def test_who_has_it_is_said_once(kind: NoticeKind, state: dict[str, Any], who: str) -> None:
    due = waiting(notice(kind), (alert(**state), TERN))
    _, short = write_short(due, HEAD, strict=True)
    for text in (letter(due).text, short):
        assert text.count(who) == 1


def test_whoever_need_do_nothing_is_not_told_what_to_do() -> None:
    text = of(NoticeKind.TAKEN, has_it="Per").text
    assert text.startswith("Per has it now.")
    for head in ("DO FIRST", "DO NOT", "HER CARD", "LIKELY CAUSES"):
        assert head not in text
        assert head in of(NoticeKind.TAKEN, has_it="Anna").text


def test_two_who_have_it_have_it() -> None:
    first, second = alert(has_it="Per"), alert(id="2", has_it="Ilse")
    duty = letter(waiting(notice(NoticeKind.TAKEN), (first, TERN), (second, TERN)))
    owner = letter(waiting(notice(NoticeKind.TAKEN, owner=True), (first, TERN), (second, TERN)))
    some = letter(waiting(notice(), (first, TERN), (second, TERN), (alert(id="3"), TERN)))
    assert duty.subject.startswith("[Per and Ilse have it] Tern")
    assert duty.text.startswith("Per and Ilse have it now.")
    assert "\nPer and Ilse have it.\n" in letter(waiting(notice(), (first, TERN), (second, TERN))).text
    assert "Per and Ilse have it for Quay Yard." in owner.text
    assert "\nPer and Ilse have some of it. Nobody has the rest yet.\n" in some.text
    for written in (duty, owner, some):
        assert "Ilse has" not in written.text.partition("ALSO ON HER")[0]


def test_whoever_is_handed_it_accepts_it_on_her_page() -> None:
    offered = alert(has_it="Per", offered_to="Anna", acknowledged_ms=NOW, acknowledged_by="Per")
    written = letter(waiting(notice(NoticeKind.HANDED, reason="Per hands it to you: accept it"), (offered, TERN)))
    assert written.subject.startswith("[Handed to you] Tern, plot B4")
    assert written.text.startswith("Per hands it to you: accept it. You have it once you have accepted it.\n")
    assert "\nPer has it until you accept it.\n" in written.text
    assert "Accept it on her page: http://127.0.0.1:8080/vessels/tern\n" in written.text
    assert "/seen/" not in written.text


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({}, "I have it"),
        ({"has_it": "Anna"}, "I have it"),
        ({"has_it": "Per"}, "I have seen it"),
        (LATCHED, "I have seen it"),
    ],
)
def test_the_link_says_what_comes_of_it(state: dict[str, Any], words: str) -> None:
    assert f"\n{words}: http://127.0.0.1:8080/seen/" in of(**state).text


@pytest.mark.parametrize("kind", [k for k in NoticeKind if k is not NoticeKind.TEST])
def test_where_the_pages_cannot_be_opened_no_link_stands_and_it_says_where_to_say_it(kind: NoticeKind) -> None:
    at_home = replace(HEAD, page=lambda _: None, call_page=lambda _: None, acknowledge=lambda _: None)
    told = waiting(notice(kind), (alert(), TERN))
    written = write_letter(told, at_home, strict=True)
    _, short = write_short(told, at_home, strict=True)
    assert "http" not in written.text + short
    assert "<a " not in written.html
    command = f'coldberth alert acknowledge {alert().id} --by "Anna"'
    wanted = kind is not NoticeKind.DIGEST
    assert (command in written.text) == (command in short) == wanted
    handed = waiting(notice(NoticeKind.HANDED), (alert(has_it="Per", offered_to="Anna"), TERN))
    assert f'coldberth alert accept {alert().id} --by "Anna"' in write_letter(handed, at_home, strict=True).text


def test_a_letter_of_many_boats_without_links_has_no_link() -> None:
    at_home = replace(HEAD, page=lambda _: None, call_page=lambda _: None, acknowledge=lambda _: None)
    written = write_letter(fleet(43), at_home, strict=True)
    assert "http" not in written.text
    assert "And 3 more, on the yard's page." in written.text


def test_an_owners_letter_is_short_and_has_no_engineering() -> None:
    due = (alert(acknowledged_ms=NOW, acknowledged_by="Per", has_it="Per"), TERN)
    owner, duty = letter(waiting(notice(owner=True), due)), letter(waiting(notice(), due))
    assert len(owner.text) < 0.5 * len(duty.text)
    assert "Quay Yard writes to you again when it is over." in owner.text
    assert owner.picture is not None
    for kept_back in ("LIKELY CAUSES", "FIGURES", "HOW SURE", "Seen by", "Measured", "Gas or petrol", "tester"):
        assert kept_back not in owner.text, kept_back
        assert kept_back == "tester" or kept_back in duty.text or kept_back == "Gas or petrol", kept_back


@pytest.mark.parametrize("kind", [k for k in NoticeKind if k not in {NoticeKind.DIGEST, NoticeKind.TEST}])
def test_a_late_message_about_what_has_ended_calls_nobody_out(kind: NoticeKind) -> None:
    written = of(kind, **ENDED)
    assert written.subject == "[Over] Tern, plot B4. It was: Closed cooling is below its freezing point"
    assert not written.is_urgent
    assert "\nIt was: Closed cooling is below its freezing point.\nTern, plot B4\n" in written.text
    assert '\nThe last that was said of it:\n"It is' in written.text
    assert "Cleared is not repaired" in written.text
    for gone in (RETEST, "Do not start", "until harm", "HER CARD", "/seen/", "obody has"):
        assert gone not in written.text, gone


def test_what_waits_for_somebody_to_go_aboard_says_so_and_what_to_look_at() -> None:
    written = of(NoticeKind.OVER, **LATCHED)
    assert written.subject.startswith("[Cleared, go and look] Tern")
    for said in ("It waits for somebody to go aboard", "1. Look at every hose", "HER CARD", "Do not start the engine"):
        assert said in written.text, said
    assert RETEST not in written.text


@pytest.mark.parametrize(
    ("state", "asked"),
    [
        ({}, True),
        ({"returned_ms": NOW, "state": AlertState.RETURNED_UNACKNOWLEDGED}, True),
        (LATCHED, True),
        ({"acknowledged_ms": NOW, "acknowledged_by": "Per", "state": AlertState.ACKNOWLEDGED}, False),
        (SHELVED, False),
        (ENDED, False),
    ],
)
def test_the_link_to_acknowledge_is_there_while_nobody_has_seen_it(state: dict[str, Any], asked: bool) -> None:
    assert ("/seen/" in of(**state).text) == asked


def test_what_was_confirmed_says_who_was_aboard() -> None:
    text = of(NoticeKind.OVER, **ENDED, confirmed_ms=NOW + HOUR, confirmed_by="Per").text
    assert "Per was aboard and has confirmed it." in text
    assert "Cleared is not repaired" not in text


@pytest.mark.parametrize(
    ("state", "who"),
    [
        ({}, "Nobody has it yet."),
        ({"acknowledged_by": "Per", "acknowledged_ms": NOW}, "Per has seen it. Nobody has taken it yet."),
        ({"has_it": "Per"}, "Per has it."),
        (
            {"has_it": "Per", "offered_to": "Ilse"},
            "Per has it, and has handed it to Ilse, who has not accepted it yet.",
        ),
        ({"has_it": "Per", "offered_to": "Anna"}, "Per has it until you accept it."),
        ({"offered_to": "Anna"}, "Nobody has it until you accept it."),
        ({"offered_to": "Ilse"}, "It has been handed to Ilse, who has not accepted it yet."),
        ({"has_it": "Anna"}, "You have it."),
    ],
)
def test_who_has_it_is_said(state: dict[str, Any], who: str) -> None:
    assert f"\n{who}\n" in of(**state).text


def test_of_several_alerts_the_worst_is_told_in_full_and_the_others_in_two_lines() -> None:
    lesser = alert(id="2", priority=Priority.WARNING, finding=finding(kind="wet", harm=TimeToHarm(7200.0, None)))
    aside = alert(id="3", **SHELVED)
    text = letter(waiting(notice(), (lesser, TERN), (alert(has_it="Per"), TERN), (aside, TERN))).text
    assert "\nPer has some of it. Nobody has the rest yet.\n" in text
    assert text.count("until harm if nobody acts") == 1
    also = text[text.index("ALSO ON HER") : text.index("HER CARD")].strip().splitlines()
    assert also[1].startswith("- Soon: Closed cooling: left without proof")
    assert also[2].startswith(f"  2 hours or more left. Nobody has it yet. First: {RETEST}")
    assert also[3] == "- Put aside: Closed cooling is below its freezing point."
    assert also[4] == "  Put aside until 14:00 by Per: painter aboard."
    assert len(also) == 5


def test_many_boats_are_a_list_in_walking_order_that_ends_with_how_many_more() -> None:
    written = letter(fleet(43))
    assert written.subject == "[Act now] Frost can harm 43 boats"
    lines = written.text.splitlines()
    first = lines.index("WALK IN THIS ORDER") + 1
    assert lines[first] == "1. Plot A1, Boat 1: Closed cooling is below its freezing point. 6 to 14 hours left."
    assert lines[first + 39].startswith("40. Plot A40, Boat 40")
    assert lines[first + 40] == f"And 3 more: http://127.0.0.1:8080/calls/{call().id}"
    assert "Refractometer" not in written.text


@pytest.mark.parametrize("cause", ["frost", "power", "water", "silence"])
@pytest.mark.parametrize("state", [{}, LATCHED, ENDED, SHELVED])
def test_every_trouble_of_many_boats_has_its_words(cause: str, state: dict[str, Any]) -> None:
    written = letter(fleet(3, cause, **state))
    assert "3 boats" in written.subject
    assert ("DO FIRST" in written.text) == (not state)


def test_an_owner_hears_of_their_own_boat_in_a_trouble_of_many() -> None:
    many = fleet(3)
    mine = waiting(notice(owner=True, vessel="boat-2"), many.alerts[1], about=many.call)
    text = letter(mine).text
    assert "\nBoat 2, plot A2\n" in text
    assert "boats" not in text


def test_the_daily_list_is_a_line_an_alert_under_its_boat() -> None:
    told = notice(NoticeKind.DIGEST, call="", vessel=None)
    caution = alert(priority=Priority.CAUTION)
    written = letter(waiting(told, (caution, TERN), (alert(id="2", **LATCHED), TERN), (alert(id="3", **SHELVED), TERN)))
    assert written.subject == "[Daily list] 3 things on 1 boat"
    assert not written.is_urgent
    for line in (
        "- Closed cooling is below its freezing point, since 13:00. This week. 6 to 14 hours left.",
        "- Closed cooling is below its freezing point: cleared 14:00, and waits for somebody to go aboard.",
        "- Closed cooling is below its freezing point: put aside until 14:00 by Per: painter aboard.",
    ):
        assert line in written.text, line
    assert "/seen/" not in written.text


def test_a_daily_list_whose_alerts_are_all_gone_says_so() -> None:
    due = waiting(notice(NoticeKind.DIGEST, call="", vessel=None))
    gone = Waiting(due.notice, None, (), due.opening, 0)
    assert "Nothing of it stands any more." in letter(gone).text


def test_a_notice_of_no_known_alert_is_refused_with_its_id() -> None:
    due = waiting()
    with pytest.raises(ValueError, match=f"notice {due.notice.id} names no alert"):
        letter(Waiting(due.notice, due.call, (), due.opening, 0))


def test_the_language_of_the_notice_falls_back_to_english() -> None:
    assert letter(waiting(notice(language="de-DE"))).subject == letter(waiting()).subject

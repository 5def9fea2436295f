"""A test message says in every channel that it is one, and asks nobody to do anything aboard."""

import json
from dataclasses import replace

from examples import HEAD, notice

from monitor.messages.hook import write_hook
from monitor.messages.letter import write_letter
from monitor.messages.short import write_short
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.notify.plain_hook import plain_hook
from monitor.notify.plain_words import plain_words

REASON = "Runa Castleby takes on the watch of Tern at plot B4, and wants to know whether you can be reached"
TRIED = Waiting(replace(notice(NoticeKind.TEST, reason=REASON), alerts=()), None, (), "x", 0)


def test_a_letter_says_first_that_it_is_a_test_and_whom_to_answer() -> None:
    written = write_letter(TRIED, HEAD, strict=True)
    assert written.subject == "[Test] Quay Yard: can you be reached?"
    assert written.text.splitlines()[0] == "This is a test. Nothing is wrong, and nothing has to be done aboard."
    assert REASON in written.text
    assert "Say to whoever rang you that it came" in written.text
    assert (written.is_urgent, written.picture) == (False, None)
    assert "/seen/" not in written.html


def test_a_short_message_says_the_same_in_few_words() -> None:
    title, body = write_short(TRIED, HEAD, strict=True)
    assert title.startswith("[Test]")
    assert body.splitlines()[0].startswith("This is a test.")
    assert REASON in body


def test_a_hook_is_of_a_type_of_its_own_and_about_no_boats_alert() -> None:
    body = json.loads(json.dumps(write_hook(TRIED, HEAD, strict=True)))
    assert body["type"] == "test"
    data = body["data"]
    assert (data["about"], data["call"], data["vessel"], data["alerts"]) == ("test", None, None, [])


def test_in_plain_words_it_is_still_a_test() -> None:
    words = plain_words(TRIED)
    assert words.title == "This is a test: nothing is wrong"
    assert REASON in words.body
    assert words.priority is None
    assert json.loads(plain_hook(TRIED))["type"] == "test"

"""The daily list says which of its boats nobody has proved and taken on."""

from boats import boat
from examples import HEAD, alert, notice, waiting
from proved import unproved

from monitor.messages.letter import write_letter
from monitor.model.notice import NoticeKind
from monitor.model.vessel import Mode, Vessel

SAYS = "Not watched yet"


def digest(vessel: Vessel) -> str:
    return write_letter(waiting(notice(NoticeKind.DIGEST), (alert(), vessel)), HEAD, strict=True).text


def test_a_boat_whose_watch_nobody_took_on_is_named_so_beside_her_alerts() -> None:
    text = digest(unproved(boat()))
    assert SAYS in text
    assert "Closed cooling" in text


def test_a_boat_that_is_watched_or_in_use_is_not() -> None:
    assert SAYS not in digest(boat())
    assert SAYS not in digest(unproved(boat(), mode=Mode.WORK_ABOARD))

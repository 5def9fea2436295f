"""Messages that have not reached those they are for."""

from collections.abc import Iterator, Sequence

from fastapi.concurrency import run_in_threadpool

from monitor.model.views import NoticeLine
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.commands import taken
from monitor.web.deps import Deps
from monitor.web.notice_words import error_shown
from monitor.web.problems import ProblemError
from monitor.web.sight import Viewer


def undelivered(deps: Deps, viewer: Viewer) -> list[NoticeLine]:
    """Give what was given up, and what has failed and still waits, newest first, as far as this viewer may see it."""
    lines = deps.calls.undelivered(deps.health().wall_ms)
    return [line for line in lines if sight.may_see(viewer, line.notice.vessel)]


def reached_later(deps: Deps, line: NoticeLine) -> bool:
    """Say whether a later message of the same call has reached the same person: what was missed is made good."""
    if not line.notice.call:
        return False
    return any(
        other.sent_ms is not None
        and other.notice.person == line.notice.person
        and other.notice.at_ms >= line.notice.at_ms
        for other in deps.calls.notices(line.notice.call)
    )


async def send_again(deps: Deps, viewer: Viewer, notice_id: str) -> None:
    """Have a message tried again that was given up, and its address used again.

    Raises:
        ProblemError: where there is none that was given up, or the watch does not take it, in words.
    """
    lines = await run_in_threadpool(undelivered, deps, viewer)
    found = next((line for line in lines if line.notice.id == notice_id), None)
    if found is None or found.given_up_ms is None:
        raise ProblemError(404, "This message was not given up: it has arrived, or is still tried by itself.")
    await taken(deps.send_again(notice_id))


def undelivered_sentences(lines: Sequence[NoticeLine], clock: YardClock) -> Iterator[str]:
    """Say whom messages have not reached, a sentence a person, and why the newest has not."""
    by_person: dict[str, list[NoticeLine]] = {}
    for line in lines:
        by_person.setdefault(line.notice.person, []).append(line)
    for person, missed in by_person.items():
        count = "1 message has" if len(missed) == 1 else f"{len(missed)} messages have"
        since = clock.at(min(line.notice.at_ms for line in missed))
        why = next((error_shown(line) for line in missed if line.error), "")
        yield f"{count} not reached {person} since {since}{': ' if why else ''}{why}."

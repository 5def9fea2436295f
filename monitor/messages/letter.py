"""A letter: everything that one message by e-mail says, as text and as HTML.

What it holds, in this order: what is wrong, on which boat and where she stands; how long there is; who has it, and the
link by which its reader says that they have it; what to do first; what not to do; what else is wrong with her; her
card; causes; how sure; a picture of the last days; figures; cautions. Who gets what:

- Whoever has the duty gets all of it.
- An owner gets what is wrong, who has it, and is asked not to board: no steps to do aboard, no link by which to
  acknowledge, no causes and figures, and no card. The card is written for whoever is sent to her; an owner knows where
  the keys are.
- Of a trouble of many boats the duty gets the list to walk by; an owner only ever hears of their own boat.

What a late message says is what is known when it is written: an alert that has ended meanwhile is not announced as
*act now*.
"""

from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import StrictUndefined, Template
from jinja2.sandbox import ImmutableSandboxedEnvironment

from monitor.messages.blocks import Block
from monitor.messages.desk import Desk
from monitor.messages.digest import digest_blocks, digest_subject
from monitor.messages.fleet import fleet_blocks, fleet_subject
from monitor.messages.happened import lead, mark
from monitor.messages.letterhead import Letterhead, Picture
from monitor.messages.one_vessel import vessel_blocks, vessel_subject
from monitor.messages.plain import one_line
from monitor.messages.to_owner import owner_blocks
from monitor.messages.trial import trial_blocks, trial_subject
from monitor.model.call import CallKind
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.scale import Priority

LONGEST_SUBJECT = 160


@dataclass(frozen=True, slots=True)
class Letter:
    """One message, written.

    Attributes:
        subject: its subject, one line.
        text: its text.
        html: the same as HTML; its picture is named by ``cid``.
        is_urgent: whether an alarm stands in it.
        picture: its picture, None where it has none.
        cid: content id of the picture, empty where there is none.
    """

    subject: str
    text: str
    html: str
    is_urgent: bool
    picture: Picture | None
    cid: str


def write_letter(waiting: Waiting, head: Letterhead, *, strict: bool = False) -> Letter:
    """Write the letter of a notice.

    Args:
        waiting: what is to be told to whom, as it stands now.
        head: what all messages of the yard share.
        strict: raise where words are missing, instead of falling back.

    Raises:
        ValueError: where it tells of no alert, and is no digest and no test.
        MissingWordsError: only when strict.
    """
    desk = Desk(waiting, head, strict=strict)
    subject, first_line, blocks = _written(desk)
    blocks = [block for block in blocks if not block.is_empty]
    picture = next((block.picture for block in blocks if block.picture is not None), None)
    cid = f"{waiting.notice.id}.picture@{head.sender.rpartition('@')[2]}" if picture is not None else ""
    parts: dict[str, Any] = {
        "language": desk.language,
        "subject": one_line(subject, LONGEST_SUBJECT),
        "lead": first_line,
        "blocks": blocks,
        "cid": cid,
        "foot": (
            desk.say("foot", "as_of", at=desk.at(desk.now_ms)),
            desk.say("foot", "why", reason=one_line(waiting.notice.reason).rstrip(".")),
        ),
    }
    return Letter(
        subject=parts["subject"],
        text=_template("letter.txt").render(parts),
        html=_template("letter.html").render(parts),
        is_urgent=_is_urgent(desk),
        picture=picture,
        cid=cid,
    )


def _is_urgent(desk: Desk) -> bool:
    return desk.priority is Priority.ALARM and not desk.is_clearing and desk.notice.kind is not NoticeKind.DIGEST


def is_of_many(desk: Desk) -> bool:
    """Whether a message tells of a trouble of many boats to somebody who looks after all of them."""
    fleet = desk.call is not None and desk.call.kind is CallKind.FLEET
    return fleet and not desk.notice.owner and desk.notice.vessel is None


def page_of(desk: Desk) -> str | None:
    """Give the page where all that a message tells of stands; None where none is known."""
    if desk.notice.kind is NoticeKind.DIGEST:
        return desk.head.call_page("")
    if desk.notice.kind is NoticeKind.TEST:
        return None
    if is_of_many(desk):
        return desk.head.call_page("" if desk.call is None else desk.call.id)
    return desk.head.page(desk.worst.vessel.id)


def subject_of(desk: Desk) -> str:
    """Give a message's subject.

    Raises:
        ValueError: where it tells of no alert, and is no digest and no test.
    """
    if desk.notice.kind is NoticeKind.DIGEST:
        return digest_subject(desk)
    if desk.notice.kind is NoticeKind.TEST:
        return trial_subject(desk)
    if not desk.told:
        raise ValueError(f"notice {desk.notice.id} names no alert that is still known: there is nothing to tell")
    return fleet_subject(desk, mark(desk)) if is_of_many(desk) else vessel_subject(desk, mark(desk))


def _written(desk: Desk) -> tuple[str, str, list[Block]]:
    subject = subject_of(desk)
    if desk.notice.kind is NoticeKind.DIGEST:
        return subject, desk.say("told", "digest"), digest_blocks(desk)
    if desk.notice.kind is NoticeKind.TEST:
        return subject, desk.say("told", "test"), trial_blocks(desk)
    if desk.notice.owner:
        return subject, lead(desk), owner_blocks(desk)
    return subject, lead(desk), fleet_blocks(desk) if is_of_many(desk) else vessel_blocks(desk)


@cache
def _template(name: str) -> Template:
    env = ImmutableSandboxedEnvironment(
        undefined=StrictUndefined,
        autoescape=name.endswith(".html"),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return env.from_string((resources.files("monitor.messages") / "templates" / name).read_text("utf-8"))

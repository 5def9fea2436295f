"""A test message: says first that it is one, that nothing is wrong, and whom to answer."""

from monitor.messages.blocks import Block
from monitor.messages.desk import Desk
from monitor.messages.plain import capital, one_line


def trial_subject(desk: Desk) -> str:
    """Give the subject."""
    return desk.say("subject", "test", yard=desk.yard)


def trial_lines(desk: Desk) -> tuple[str, ...]:
    """Give what stands under it, a sentence each."""
    reason = capital(one_line(desk.notice.reason).rstrip("."))
    return (f"{reason}.", desk.say("test", "answer"))


def trial_blocks(desk: Desk) -> list[Block]:
    """Give the parts of a test message."""
    return [Block(title=desk.say("test", "title")), Block(lines=trial_lines(desk))]

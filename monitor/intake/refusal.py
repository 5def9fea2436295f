"""Why a message, or a part of one, cannot be used: said once, in a line that is safe to store and to print."""

from monitor.model.parcel import Reject, RejectReason

LONGEST = 200


class Refusal(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """A message, or a part of one, is refused."""

    def __init__(self, reason: RejectReason, detail: str) -> None:
        super().__init__(detail)
        self.reason = reason
        self.detail = detail

    def on(self, topic: str) -> Reject:
        """Give it as a reject of the message on ``topic``."""
        return Reject(self.reason, plain(topic), plain(self.detail))


def plain(text: str) -> str:
    r"""Put text from outside on one line of at most 200 characters, with what cannot be printed escaped.

    >>> plain("bilge\n\x1b[31m")
    'bilge\\n\\x1b[31m'
    """
    shown = text[:LONGEST]
    if not shown.isprintable():
        shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in shown)
    return shown[:LONGEST]

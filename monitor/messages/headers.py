"""Header lines of an e-mail that every reader's program gives back as they were meant.

The standard library's newer folding (Python 3.11 and later) drops the space between two encoded words, and puts a line
break before a subject that just does not fit. Its older folding does neither, and is used for what people read.
"""

from email.header import Header
from email.headerregistry import AddressHeader
from email.policy import EmailPolicy
from typing import Any

_LONGEST_LINE = 76


class MailPolicy(EmailPolicy):
    """How a message is written out: lines end as SMTP wants them, and headers are folded by `email.header`."""

    def fold(self, name: str, value: Any) -> str:  # noqa: ANN401 - as in the class above
        """Write a header, folded."""
        if self.utf8:
            return str(super().fold(name, value))
        if name.lower() == "subject":
            return self._line(name, _folded(str(value), name, self.linesep))
        if name.lower() in {"from", "to"} and isinstance(value, AddressHeader):
            (address,) = value.addresses
            if not address.display_name.isascii():
                text = _folded(address.display_name, name, self.linesep, charset="utf-8")
                return self._line(name, f"{text}{self.linesep} <{address.addr_spec}>")
        return str(super().fold(name, value))

    def fold_binary(self, name: str, value: Any) -> bytes:  # noqa: ANN401 - as in the class above
        """Write a header, folded, as bytes."""
        return self.fold(name, value).encode("utf-8" if self.utf8 else "ascii")

    def _line(self, name: str, text: str) -> str:
        return f"{name}: {text}{self.linesep}"


def _folded(text: str, name: str, linesep: str, charset: str | None = None) -> str:
    """Fold a text; without a charset only what is not ASCII is encoded."""
    return Header(text, charset, header_name=name, maxlinelen=_LONGEST_LINE).encode(linesep=linesep)


MAIL = MailPolicy(linesep="\r\n", max_line_length=_LONGEST_LINE)

"""What the command prints, with nothing in it that a terminal would obey.

Names, notes and topics come from people and devices: one that holds an escape sequence could clear the screen, retitle
the window, or write a line that looks like ours.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from io import TextIOBase
from typing import TextIO

# All control characters but tab and line end, those that turn the direction of writing, and halves of characters.
_OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def shown(text: str) -> str:
    r"""Give a text with what a terminal would obey written out.

    >>> shown("Tern\x1b[2J\u202e")
    'Tern\\x1b[2J\\u202e'
    """
    return _OBEYED.sub(lambda found: found[0].encode("unicode_escape", "surrogatepass").decode("ascii"), text)


class _Shown(TextIOBase):
    """A text stream that passes on what is written to it as it can be shown."""

    def __init__(self, to: TextIO) -> None:
        self._to = to

    def write(self, text: str) -> int:
        self._to.write(shown(text))
        return len(text)

    def flush(self) -> None:
        self._to.flush()

    def isatty(self) -> bool:
        return self._to.isatty()

    def fileno(self) -> int:
        return self._to.fileno()

    @property
    def encoding(self) -> str:  # type: ignore[override]  # a stream's own, which never changes
        return self._to.encoding


@contextmanager
def plain_output(to: TextIO) -> Iterator[None]:
    """Have everything that is printed written as it can be shown."""
    with redirect_stdout(_Shown(to)):
        yield

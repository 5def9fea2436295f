"""Names that people typed, made fit to stand in one line of a message."""

import unicodedata


def one_line(text: str, longest: int = 300) -> str:
    r"""Give a text as one plain line: no line breaks, no control, direction or private characters, not too long.

    >>> one_line(" Tern\r\nBcc: all@example.org")
    'Tern Bcc: all@example.org'
    """
    kept = (" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    line = " ".join("".join(kept).split())
    return line if len(line) <= longest else f"{line[: longest - 1]}…"


def capital(text: str) -> str:
    """Give a sentence its capital letter and leave the rest alone.

    >>> capital("port engine is cold")
    'Port engine is cold'
    """
    return text[:1].upper() + text[1:]

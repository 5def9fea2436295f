"""The parts of a letter, in the order they are read: plain text, before it becomes text or HTML."""

from dataclasses import dataclass

from monitor.messages.letterhead import Picture


@dataclass(frozen=True, slots=True)
class Link:
    """A link, by the words that stand on it."""

    says: str
    address: str


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a letter. Every text is one plain line, or two of them joined by a line break where said so.

    Attributes:
        heading: its heading, empty where it has none.
        title: a line larger than all others: what is wrong.
        under: a line beneath the title: on which boat, and where she stands.
        lines: paragraphs.
        steps: a numbered list.
        points: a list; a point may have a second line.
        pairs: a table of (label, value).
        links: what can be opened from it.
        picture: a picture, with what it shows in words.
        is_small: whether it is what nobody has to read in a hurry.
    """

    heading: str = ""
    title: str = ""
    under: str = ""
    lines: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    points: tuple[str, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    links: tuple[Link, ...] = ()
    picture: Picture | None = None
    is_small: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing in it beside its heading."""
        return not (
            self.title
            or self.under
            or self.picture
            or any((*self.lines, *self.steps, *self.points, *self.pairs, *self.links))
        )

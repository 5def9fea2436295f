"""What a look through a journal says: one sentence a matter, with its figures."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Figure = int | float | str | None


@dataclass(frozen=True, slots=True)
class Said:
    """What was found about one matter.

    Attributes:
        about: which matter, a word or two, the same in every look.
        ok: whether it is as it should be.
        words: a plain sentence, with what to do where it is not.
        figures: what it rests on.
        more: lines below it, such as one a sensor.
    """

    about: str
    ok: bool
    words: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    more: tuple[str, ...] = ()

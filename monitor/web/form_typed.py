"""What stands in a form that was sent, and under whose name."""

from dataclasses import dataclass

from starlette.datastructures import FormData

from monitor.web.form_read import wrong_words
from monitor.web.sight import Viewer

PREFIX = "e."
"""What the names of an entry's own fields begin with, so that none is taken for the form's."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A form as it was sent: the entry's fields by their names, and what the form itself carries."""

    texts: dict[str, str]
    carried: dict[str, str]

    @classmethod
    def of(cls, form: FormData) -> "Typed":
        """Take the texts of a form that was sent."""
        sent = {key: value for key, value in form.multi_items() if isinstance(value, str)}
        texts = {key.removeprefix(PREFIX): value for key, value in sent.items() if key.startswith(PREFIX)}
        return cls(texts, {key: value for key, value in sent.items() if not key.startswith(PREFIX)})

    def number(self, name: str) -> int:
        """Give a whole number that the form carries; 0 where it was tampered with."""
        text = self.carried.get(name, "")
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0  # noqa: PLR2004 - more is no number of ours

    def by(self, viewer: Viewer) -> tuple[str, dict[str, str]]:
        """Give who changes the record, and what is wrong with that: it is asked where nobody signed in."""
        name = viewer.acts_as(" ".join(self.carried.get("name", "").split())[:80])
        return name, {} if name else {"your-name": wrong_words("needed")}

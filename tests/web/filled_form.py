"""A form as a browser would send it back: every field with what stands in it."""

from html.parser import HTMLParser


class FilledForm(HTMLParser):
    """The one form of the class ``record-form`` on a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self.action = ""
        self._inside = False
        self._select = ""
        self._text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {key: value or "" for key, value in attrs}
        if tag == "form":
            self._inside = "record-form" in told.get("class", "")
            self.action = told.get("action", "") if self._inside else self.action
        if not self._inside:
            return
        name = told.get("name", "")
        if tag == "input" and name:
            if told.get("type") not in {"radio", "checkbox"} or "checked" in told:
                self.fields[name] = told.get("value", "")
        elif tag == "select":
            self._select = name
        elif tag == "option" and "selected" in told:
            self.fields[self._select] = told["value"]
        elif tag == "textarea":
            self._text, self.fields[name] = name, ""

    def handle_data(self, data: str) -> None:
        if self._text:
            self.fields[self._text] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        if tag == "textarea":  # the first line break in it is no part of it, and a browser sends others as two bytes
            text = self.fields[self._text]
            self.fields[self._text] = text.removeprefix("\n").replace("\n", "\r\n")
            self._text = ""

"""Pages of the docs that a script fills in: what stands between two marks is made anew, the rest stays."""


def fill(text: str, begins: str, ends: str, made: str, page: object) -> str:
    """Give a page with what was made in place of its marks and what stood between them.

    Args:
        text: the page.
        begins: the mark it begins with.
        ends: the mark it ends with.
        made: what is to stand there, marks included.
        page: what to call the page in errors.

    Raises:
        ValueError: where the page has no place for it.
    """
    before, mark, rest = text.partition(begins)
    _, end, after = rest.partition(ends)
    if not mark or not end:
        raise ValueError(f"{page} has no {begins} followed by {ends}")
    return before + made + after

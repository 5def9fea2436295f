"""What stands in the fields of a form of text alone."""

from fastapi import Request

MOST_FIELDS = 10


async def typed_in(request: Request, most_fields: int = MOST_FIELDS) -> dict[str, str]:
    """Give what was typed, by the names of the fields; a form with files, or with more fields, is refused."""
    form = await request.form(max_files=0, max_fields=most_fields)
    return {key: value for key, value in form.items() if isinstance(value, str)}

"""A lay-up's day that lies too far ahead to be meant: most likely the year is wrong."""

from collections.abc import Mapping
from datetime import UTC, datetime

from monitor.model.proof import is_of_lay_up
from monitor.web.form_read import wrong_words

FIELD = "laid_up"


def lay_up_wrong(values: Mapping[str, object], now_ms: int) -> dict[str, str]:
    """Say what is wrong with the day of a lay-up; nothing where it is none, or may be meant.

    Readings from before it count as of a faulty clock, so that nothing would be heard of her until it comes.

    Args:
        values: what was read of the form.
        now_ms: event time now; nought before the stream's first clock.
    """
    at = values.get(FIELD)
    if not isinstance(at, datetime) or now_ms <= 0 or is_of_lay_up(datetime.fromtimestamp(now_ms / 1000, UTC), at):
        return {}
    return {FIELD: wrong_words("ahead", year=at.year)}

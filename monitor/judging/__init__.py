"""When rules are judged, what becomes of what they say, and what people do with that."""

from monitor.judging.own_word import OWN
from monitor.judging.ticks import Judging

__all__ = ["OWN", "Judging"]

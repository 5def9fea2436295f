"""Who is told of what, when, on which channel and why. Pure: a batch in, notices and calls out.

Everything happens in event time. Clocks, suppressions and alert events are gone through in the order of their ``seq``;
timers that lie before one fire first, each at its own time, so that it makes no difference how a batch was cut.
"""

from monitor.telling.plain import plain_notices
from monitor.telling.telling import Telling

__all__ = ["Telling", "plain_notices"]

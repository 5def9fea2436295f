"""How long messages have waited in the outbox, by channel."""

from dataclasses import dataclass
from sqlite3 import Connection

_WAITING = (
    "SELECT channel, count(*), min(at_ms), max(tries), (SELECT error FROM notice AS last WHERE last.channel ="
    " notice.channel AND sent_ms IS NULL AND given_up_ms IS NULL ORDER BY tries DESC, at_ms LIMIT 1)"
    " FROM notice WHERE sent_ms IS NULL AND given_up_ms IS NULL GROUP BY channel ORDER BY channel"
)


@dataclass(frozen=True, slots=True)
class Queue:
    """The messages of a channel that wait.

    Attributes:
        channel: the channel.
        count: how many.
        oldest_ms: event time of the oldest.
        tries: how often the most stubborn was tried.
        error: what came of its last try; empty where there was none.
    """

    channel: str
    count: int
    oldest_ms: int
    tries: int
    error: str


def queues(db: Connection) -> list[Queue]:
    """Give the channels in which anything waits."""
    return [Queue(*row) for row in db.execute(_WAITING)]


def given_up(db: Connection) -> int:
    """Count the messages that were given up."""
    return int(db.execute("SELECT count(*) FROM notice WHERE given_up_ms IS NOT NULL").fetchone()[0])

"""Reads what people said at the launch gate."""

from pydantic import TypeAdapter

from monitor.model.gate import GateWord
from monitor.store.reader import Reader

_WORD = TypeAdapter(GateWord)


def read_gate_words(reader: Reader, vessel: str) -> list[GateWord]:
    """Give what was said at a vessel's gate, oldest first."""
    rows = reader.rows("SELECT body FROM gate WHERE vessel = ? ORDER BY seq", (vessel,))
    return [_WORD.validate_json(row[0]) for row in rows]

"""Writes what people say at the launch gate where it is found by vessel, beside its input."""

from sqlite3 import Connection

from monitor.model.gate import GateWord


def write_gate(db: Connection, seq: int, word: GateWord, body: str) -> None:
    """Write a word with the seq and the JSON of its input."""
    db.execute("INSERT INTO gate (seq, vessel, at_ms, body) VALUES (?, ?, ?, ?)", (seq, word.vessel, word.at_ms, body))

"""The winter's report names each sensor that was proved: date, who, what, and what it said."""

from boats import boat
from proved import unproved

from monitor.messages.phrases import common
from monitor.report.record_rows import RecordRows

FIGURES = common("en").figures


def test_each_proof_is_a_row_with_its_day_and_the_last_is_who_took_the_watch_on() -> None:
    record = boat()
    rows = RecordRows(record, FIGURES).proofs()
    assert len(rows) == len(record.proofs) + 1
    assert ["1 Nov 2013", "R. Invented", "thermometer, outside: in ice-water", "0.2 °C, should be 0.0 °C"] in rows
    assert ["1 Nov 2013", "R. Invented", "thermometer, outside: in the hand", "24.0 °C"] in rows
    assert rows[-1][2] == "The yard took the watch on at plot B4; Wilf Sandring answered the duty phone"


def test_what_nobody_proved_is_a_row_too() -> None:
    rows = RecordRows(unproved(boat()), FIGURES).proofs()
    assert rows[0] == ["\u2013", "nobody", "float switch, bilge float: not proved lifted by hand", "\u2013"]
    assert len(rows) == 7

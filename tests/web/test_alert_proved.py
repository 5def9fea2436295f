"""Of a sensor that an alert goes by its page says how it was last proved: a float lifted for that is an alarm too."""

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from yards import NOW_MS, frost, record

from monitor.model.proof import Proof, ProofWay
from monitor.model.scale import Priority
from monitor.web.alert_record import record_lines
from monitor.web.clock import YardClock

LONDON = ZoneInfo("Europe/London")


def _details(*proofs: Proof) -> tuple[str, ...]:
    boat = record("amber-lark", "Amber Lark", "B10").model_copy(update={"proofs": proofs})
    finding = replace(frost(Priority.ALARM), rule="bilge", kind="float", subject="float", rests_on=())
    (line,) = (one for one in record_lines(finding, boat, YardClock(LONDON, NOW_MS)) if one.name.startswith("Sensor: "))
    return line.details


def test_the_newest_proof_of_a_sensor_is_told_beside_it() -> None:
    first = Proof(
        sensor="float", way=ProofWay.LIFTED, by="Ben Wick", at=datetime(2013, 11, 1, 9, 4, tzinfo=UTC), said=1.0
    )
    last = first.model_copy(update={"by": "Anna Tolley", "at": datetime(2013, 12, 7, 9, 4, tzinfo=UTC)})
    other = first.model_copy(update={"sensor": "main-bilge", "at": datetime(2013, 12, 8, 9, 4, tzinfo=UTC)})
    assert _details(last, first, other) == ("Last proved by Anna Tolley, lifted by hand, Sat 7 Dec 2013, 09:04",)


def test_of_a_sensor_that_nobody_proved_nothing_is_told() -> None:
    assert _details() == ()

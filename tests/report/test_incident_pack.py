"""The pack of an alert holds all that bears on it, in files that anybody can open."""

import csv
import io
import json
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import known_yards  # noqa: F401 - lets yards be found
import pytest
from yards import HOUR_MS, ZONE, Yard, reading, record, small_yard

from monitor.model.alert import Alert, AlertChange
from monitor.model.batch import Batch
from monitor.model.notice import Notice, NoticeKind
from monitor.report import incident_pack
from monitor.report.gather import Shelf
from monitor.report.lines import utc
from monitor.store.rows import chained


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = small_yard(tmp_path / "journal.db")
    yield made
    made.close()


def pack_of(yard: Yard, alert: Alert) -> dict[str, str]:
    shelf = Shelf("Eiderhythe Yard", ZONE, yard.view, yard.view, yard.view, yard.view, yard.now_ms)
    out = io.BytesIO()
    incident_pack(shelf, alert, out)
    with zipfile.ZipFile(out) as pack:
        assert pack.testzip() is None
        return {name: pack.read(name).decode() for name in pack.namelist()}


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def alert_of(yard: Yard, vessel: str) -> Alert:
    return next(a for a in yard.alerts.values() if a.vessel == vessel)


def test_every_file_is_there_and_the_readme_names_each(yard: Yard) -> None:
    pack = pack_of(yard, alert_of(yard, "amber-lark"))
    files = {"alert.json", "events.csv", "readings.csv", "notices.csv", "visits.csv", "record.toml"}
    assert set(pack) == files | {"README.txt"}
    assert all(name in pack["README.txt"] for name in files)
    assert json.loads(pack["alert.json"])["id"] == alert_of(yard, "amber-lark").id


def test_readings_are_of_all_sensors_from_a_day_before_on(yard: Yard) -> None:
    alert = alert_of(yard, "amber-lark")
    rows = table(pack_of(yard, alert)["readings.csv"])
    assert {r["sensor"] for r in rows} == {s.id for s in record("amber-lark", "Amber Lark").sensors}
    assert min(r["time_utc"] for r in rows) >= utc(alert.opened_ms - 24 * HOUR_MS)
    assert {r["kind"] for r in rows} == {"reading"}
    assert [r["quality"] for r in rows if r["sensor"] == "cabin-rh"].count("suspect") == 1


def test_events_carry_their_hashes_of_the_chain(yard: Yard) -> None:
    alert = alert_of(yard, "barley-moon")
    rows = table(pack_of(yard, alert)["events.csv"])
    assert [(r["change"], r["actor"]) for r in rows] == [("opened", "watch"), ("acknowledged", "Wilf Sandring")]
    events = yard.view.events(alert.id)
    # The two stand beside each other in the journal: the second's hash covers the first's.
    assert rows[1]["hash"] == chained(rows[0]["hash"], int(rows[1]["seq"]), int(rows[1]["place"]), events[1])


def test_who_was_told_is_named_without_an_address(yard: Yard) -> None:
    alert = alert_of(yard, "amber-lark")
    notice = Notice(
        "n1",
        "email",
        "anna@yard.example",
        "Anna Tolley",
        "c" * 16,
        NoticeKind.NEW,
        (alert.id,),
        alert.opened_ms,
        "on duty",
    )
    yard.commit(Batch(notices=[notice]))
    pack = pack_of(yard, alert)
    (row,) = table(pack["notices.csv"])
    assert (row["person"], row["why"], row["reason"], row["told_utc"]) == (
        "Anna Tolley",
        "new",
        "on duty",
        utc(alert.opened_ms),
    )
    assert "anna@yard.example" not in "".join(pack.values())
    assert table(pack_of(yard, alert_of(yard, "barley-moon"))["notices.csv"]) == []


def test_the_record_is_the_one_that_was_valid_when_it_opened(yard: Yard) -> None:
    yard.lay_up(record("amber-lark", "Amber Lark", engineer="Somebody Later"), at_ms=yard.now_ms)
    pack = pack_of(yard, alert_of(yard, "amber-lark"))
    assert tomllib.loads(pack["record.toml"])["engineer"] == "Hanno Brightwell"
    assert "version 1" in pack["README.txt"]


def test_readings_and_records_go_on_to_the_last_that_happened_to_it(yard: Yard) -> None:
    """An alert that had stood for weeks when it became an alarm had its readings end a day after it opened."""
    alert = alert_of(yard, "amber-lark")
    late_ms = alert.opened_ms + 15 * 24 * HOUR_MS
    yard.now_ms = late_ms + 48 * HOUR_MS
    yard.happens(alert, AlertChange.PRIORITY, late_ms, "watch")
    before = record("amber-lark", "Amber Lark")
    locker = before.sensors[0].model_copy(update={"id": "locker"})
    yard.lay_up(before.model_copy(update={"sensors": (*before.sensors, locker)}), at_ms=late_ms - HOUR_MS)
    yard.hear([reading("amber-lark", sensor, late_ms, -7.0) for sensor in ("engine-space", "locker")])
    pack = pack_of(yard, alert)
    assert {r["sensor"] for r in table(pack["readings.csv"]) if r["time_utc"] == utc(late_ms)} == {
        "engine-space",
        "locker",
    }
    assert "locker" in pack["record-version-2.toml"]
    assert "record-version-2.toml came" in pack["README.txt"]

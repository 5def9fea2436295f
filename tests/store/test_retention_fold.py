"""A rule of another version, or a snapshot that cannot be used, after raw readings were dropped: the hours stand in."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat
from kept_journal import Yard

from monitor.cli.heard import take
from monitor.fleet import Fleet, Save
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import ClockMessage
from monitor.store.journal import Journal
from monitor.store.retention import Retention
from monitor.watch import Watch
from simulator.winter import Message, Winter, yard_plan, yard_vessels

DAYS, KEPT = 45, 30


def of_two_boats() -> Winter:
    """Give the demo's winter for two of its boats, who each say something every half hour."""
    plan, vessels = yard_plan(), yard_vessels(1800)[:2]
    ids = {vessel.id for vessel in vessels}
    changes = {name: tuple(of for of in getattr(plan, name) if of.vessel in ids) for name in ("faults", "boats")}
    return Winter(plan.model_copy(update=changes), vessels, 1800)


def wintered(winter: Winter, path: Path) -> tuple[Journal, Iterator[Message]]:
    """Fill a journal with the first days of a winter; give the rest of its stream as well."""
    journal = Journal(path)
    fleet = Fleet(journal)
    fleet.calendar(winter.calendar, 0)
    for vessel in winter.vessels:
        fleet.command(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
    journal.append(fleet.hand_over(Save.EVERYTHING))
    stream = winter.stream()
    for message in stream:
        take(fleet, message)
        if fleet.filled > 2000:
            journal.append(fleet.hand_over())
        if isinstance(message, ClockMessage) and message.at_ms >= winter.plan.begins_ms + DAYS * DAY:
            break
    journal.append(fleet.hand_over(Save.EVERYTHING))
    return journal, stream


def folded_again(journal: Journal) -> Fleet:
    """Start as a program whose snapshots have another form does: all is folded again from the lay-up on."""
    db = sqlite3.connect(journal.path)
    db.execute("""UPDATE snapshot SET body = replace(body, '{"form": ', '{"form": 9')""")
    db.commit()
    db.close()
    fleet = Fleet(journal)
    fleet.restore(journal)
    assert len(fleet.folded_again) == len(fleet.watches)
    return fleet


def stands(watch: Watch) -> tuple[set[tuple[str, ...]], set[tuple[str, str]]]:
    alerts = {(a.rule, a.subject, a.finding.kind, a.priority.word, a.state.value) for a in watch.open_alerts()}
    return alerts, {(finding.kind, finding.subject) for finding in watch.not_known()}


@pytest.mark.slow
def test_a_winter_folded_again_by_the_hours_goes_on_within_an_hour_of_one_folded_from_every_reading(
    tmp_path: Path,
) -> None:
    winter = of_two_boats()
    journal, stream = wintered(winter, tmp_path / "journal.sqlite")
    whole = folded_again(journal)
    retention = Retention(journal, KEPT)
    while retention.step(whole.clock_ms):
        pass
    assert journal.dropped.readings > 5_000
    hours = folded_again(journal)
    assert whole.clock_ms is not None
    until_ms = whole.clock_ms + 12 * DAY
    for message in stream:
        if isinstance(message, ClockMessage) and message.at_ms > until_ms:
            break
        take(whole, message)
        take(hours, message)
    alerts = 0
    for vessel, watch in whole.watches.items():
        assert stands(hours.watches[vessel]) == stands(watch), vessel
        alerts += len(watch.open_alerts())
    assert alerts > 0
    told = [[event for _, _, event in fleet.hand_over().events] for fleet in (whole, hours)]
    assert [(e.alert, e.change, e.priority) for e in told[0]] == [(e.alert, e.change, e.priority) for e in told[1]]
    apart_ms = [abs(mine.at_ms - other.at_ms) for mine, other in zip(*told, strict=True)]
    assert max(apart_ms) <= HOUR  # what is learned of a boat's warmth is learned from means
    print(
        f"{journal.dropped.readings} readings dropped, {alerts} alerts stand, {len(apart_ms)} events after: the same,"
    )
    print(f"{sum(apart > 0 for apart in apart_ms)} at another time, by {max(apart_ms) // MINUTE} min at most")
    journal.close()


def test_hours_from_before_a_record_came_wait_for_it(tmp_path: Path) -> None:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + 5 * DAY, ("outside",))
    # A second boat's record comes now; her gateway then sends the five days before.
    yard.fleet.command(RecordVersion(boat(id="teal", name="Teal"), LAID_UP_MS, "test"))
    for number in range(5 * 24):
        yard.say("outside", LAID_UP_MS + number * HOUR + MINUTE, 3.0, LAID_UP_MS + 5 * DAY, vessel="teal")
    yard.hear(LAID_UP_MS + 5 * DAY, LAID_UP_MS + 40 * DAY, ("outside",))
    retention = Retention(yard.journal, 30)
    while retention.step(LAID_UP_MS + 40 * DAY):
        pass
    assert yard.journal.dropped.readings > 5 * 24
    stand_ins = [seq for seq, item in yard.journal.inputs_since(0) if getattr(item, "vessel", "") == "teal"]
    (record,) = [seq for seq, vessel, _ in yard.journal.record_seqs() if vessel == "teal"]
    assert len(stand_ins) >= 5 * 24
    assert min(stand_ins) > record
    fleet = folded_again(yard.journal)
    assert fleet.watches["teal"].state.newest["outside"] >= LAID_UP_MS + 5 * DAY - HOUR
    yard.close()

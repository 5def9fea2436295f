"""Her lay-up in ten lines, how she is watched and what nobody can see: for somebody who is no engineer."""

from collections.abc import Iterator
from datetime import datetime

from monitor.model.equipment import LiquidSystem, SystemState
from monitor.model.vessel import Vessel
from monitor.model.work import JobEnd
from monitor.record.commission import watch_state
from monitor.record.standing import standing_items
from monitor.record.visit_due import visit_due
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.owner_words import listed, lowered, say, short_place, system_thing, within
from monitor.web.visit_take import last_visit

TEN = 10


def where_words(record: Vessel) -> str:
    """Say inside a sentence where and how she lies."""
    known = record.berth or record.plot
    return within("where", record.mode.value, place=record.place if known else "")


def layup_lines(deps: Deps, record: Vessel, clock: YardClock) -> list[str]:
    """Say how she was laid up and what is left to do, in ten lines at most."""
    return [line for line in _lines(deps, record, clock) if line][:TEN]


def watched_lines(record: Vessel, clock: YardClock) -> list[str]:
    """Say what her sensors see and where, and whether they were tried."""
    by_quantity: dict[str, list[str]] = {}
    for sensor in record.sensors:
        by_quantity.setdefault(sensor.quantity.value, []).append(short_place(sensor.place))
    lines = [
        say("watched", "line", what=within("watched", quantity), where=listed(list(dict.fromkeys(places))))
        for quantity, places in by_quantity.items()
    ]
    taken_on = watch_state(record).taken_on
    if taken_on is not None:
        lines.append(say("watched", "proved", day=clock.day(taken_on.at.astimezone(clock.zone).date())))
    elif record.sensors:
        lines.append(say("watched", "not_proved"))
    return lines


def _lines(deps: Deps, record: Vessel, clock: YardClock) -> Iterator[str]:
    day = clock.day(record.laid_up.astimezone(clock.zone).date())
    yield say("layup", "where", day=day, by=record.engineer, where=where_words(record))
    yield from _liquids(record, clock)
    yield _seacocks(record)
    yield from _electrics(record)
    yield _jobs(record)
    yield _to_do(record)
    yield _visits(deps, record, clock)
    for key, text in (("instructions", record.card.instructions), ("refusals", record.card.refusals)):
        if text.strip():
            yield say("layup", key, text=text.strip())


def _liquids(record: Vessel, clock: YardClock) -> Iterator[str]:
    by_state: dict[SystemState, list[str]] = {}
    for system in record.liquid_systems:
        by_state.setdefault(_state(system), []).append(_liquid(system, clock))
    for state, key in (
        (SystemState.TREATED, "treated"),
        (SystemState.DRAINED, "drained"),
        (SystemState.WET, "wet"),
        (SystemState.NOT_PROVEN, "not_proven"),
    ):
        if state in by_state:
            yield say("layup", key, systems=listed(list(dict.fromkeys(by_state[state]))))


def _state(system: LiquidSystem) -> SystemState:
    unproven = system.state is SystemState.DRAINED and any(not drain.probed for drain in system.drains)
    return SystemState.NOT_PROVEN if unproven else system.state


def _liquid(system: LiquidSystem, clock: YardClock) -> str:
    thing = system_thing(system)
    if system.state is SystemState.TREATED and system.tested_freeze_degc is not None:
        return within("layup", "system_to", thing=thing, at=clock.figures.degc(system.tested_freeze_degc))
    return thing


def _seacocks(record: Vessel) -> str:
    if not record.seacocks:
        return ""
    left_open = [lowered(s.name) for s in record.open_seacocks]
    if not left_open:
        return say("layup", "seacocks_shut", count=len(record.seacocks))
    return say("layup", "seacocks_open", names=listed(left_open))


def _electrics(record: Vessel) -> Iterator[str]:
    if record.batteries:
        names = [
            within("layup", "battery_charged" if b.charger else "battery_alone", name=lowered(b.name))
            for b in record.batteries
        ]
        yield say("layup", "batteries", names="; ".join(names))
    dryer, heater = record.dehumidifier, record.heater
    yield say(
        *("layup", "power"),
        on=record.shore_power.on,
        dryer=dryer is not None,
        running=dryer is not None and dryer.running,
        heater=heater is not None,
        heated=heater is not None and heater.on,
    )


def _jobs(record: Vessel) -> str:
    done = sum(job.end is JobEnd.DONE for job in record.jobs)
    left = sum(job.end is JobEnd.NOT_DONE for job in record.jobs)
    return say("layup", "jobs", done=done, left=left) if done or left else ""


def _to_do(record: Vessel) -> str:
    items = standing_items(record)
    if not items:
        return say("layup", "nothing_to_do")
    return say("layup", "to_do", count=len(items), first=lowered(items[0].what), more=len(items) - 1)


def _visits(deps: Deps, record: Vessel, clock: YardClock) -> str:
    last = last_visit(deps, record.id)
    zone = clock.zone
    reported = None if last is None else datetime.fromtimestamp(last.at_ms / 1000, zone).date()
    today = datetime.fromtimestamp(clock.now_ms / 1000, zone).date()
    due = visit_due(record, reported, today, zone)
    if due is None:
        return ""
    days = {"last": clock.day(due.last), "due": clock.day(due.on)}
    return say("layup", "visit", visited=due.visited, late=due.on < today, **days)

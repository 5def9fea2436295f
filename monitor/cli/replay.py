"""``coldberth replay``: the demo's winter straight through the watch, with no broker and no journal."""

import argparse
import json
import sys
import time

from monitor.cli.outcome import CALENDAR, print_vessels, vessels_of
from monitor.fleet import Fleet, NothingStored
from monitor.model.alert import Alert
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import ClockMessage, Parcel, RawReading
from simulator.winter import ForecastIssued, Message, RecordChanged, Winter, yard_winter

HAND_OVER_EVERY = 5_000


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser("replay", help="run the demo's winter straight through the watch, without a broker")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of a list to read")
    parser.add_argument("--cadence", type=int, default=3600, metavar="SECONDS", help="seconds between packs (3600)")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the command."""
    winter = yard_winter(arguments.cadence)
    began = time.perf_counter()
    readings, alerts = replay(winter)
    took_s = time.perf_counter() - began
    vessels = vessels_of([v.id for v in winter.vessels], winter.truth(), alerts.values())
    if arguments.json:
        json.dump({"cadence_s": winter.cadence_s, "readings": readings, "vessels": vessels}, sys.stdout, indent=1)
        print()
        return 0
    print_vessels(winter.vessels, vessels)
    print(f"{readings} readings in {took_s:.1f} s, simulation included")
    return 0


def replay(winter: Winter) -> tuple[int, dict[str, Alert]]:
    """Fold a winter.

    Returns:
        How many readings there were, and every alert in its last form by id.
    """
    fleet = Fleet(NothingStored())
    fleet.calendar(CALENDAR, 0)
    for vessel in winter.vessels:
        fleet.command(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
    readings = 0
    alerts: dict[str, Alert] = {}
    for message in winter.stream():
        take(fleet, message)
        if fleet.filled >= HAND_OVER_EVERY:
            batch = fleet.hand_over()
            readings += len(batch.readings)
            alerts |= batch.alerts
    batch = fleet.hand_over()
    return readings + len(batch.readings), alerts | batch.alerts


def take(fleet: Fleet, message: Message) -> None:
    """Give the fleet a message of the winter's stream, as intake would."""
    if isinstance(message, ClockMessage):
        fleet.clock(message.at_ms)
        return
    if isinstance(message, ForecastIssued):
        fleet.forecast(message.hours, message.at_ms)
        return
    if isinstance(message, RecordChanged):
        fleet.command(RecordVersion(message.record, message.at_ms, message.record.engineer))
        return
    raws = [RawReading(message.vessel, sensor, value, stated) for sensor, _, stated, value in message.readings]
    fleet.take(Parcel(0, 0, 0, retained=message.retained, topic="", readings=raws), fleet.clock_ms, caught_up=True)

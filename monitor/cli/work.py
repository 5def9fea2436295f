"""``coldberth work``: a vessel's lay-up work with how each job ended, or the jobs for a kind of boat."""

import argparse
from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from monitor.cli.alert_listed import opened, yard_clock
from monitor.cli.run import settings_from
from monitor.cli.trouble import RefusedError, TroubleError
from monitor.model.work import Engine, Rig
from monitor.record.work_list import BOOK_FIRST, Lying, WorkJob, jobs_for
from monitor.record.work_list_files import work_lists
from monitor.web.clock import YardClock
from monitor.web.work_shapes import WorkOut
from monitor.web.work_shown import JobShown, work_shown

_BOXES = {"to-say": " ", "done": "x", "not-done": "!", "not-fitted": "-"}


def add_to(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command."""
    parser = commands.add_parser(
        "work",
        help="print a vessel's lay-up work with how each job ended, or with --list the jobs for a kind of boat",
        epilog=f"{BOOK_FIRST} [x] done, [!] not done, [-] not fitted, [ ] still to say.",
    )
    parser.add_argument("vessel", nargs="?", help="her id; left out with --list")
    parser.add_argument("--list", action="store_true", help="the jobs alone, for the kind of boat given")
    parser.add_argument("--engine", choices=[kind.value for kind in Engine], help="with --list: what drives her")
    parser.add_argument("--rig", choices=[kind.value for kind in Rig], help="with --list: sail or motor")
    parser.add_argument("--lying", choices=[kind.value for kind in Lying], help="with --list: ashore or afloat")
    parser.add_argument("--left", action="store_true", help="only what is still to say")
    parser.add_argument("--json", action="store_true", help="a vessel's work as data, as the API gives it")
    parser.add_argument(
        "--settings", type=Path, metavar="FILE", help="settings file (TOML); --list goes without, with our lists alone"
    )
    parser.set_defaults(run=print_work)


def print_work(arguments: argparse.Namespace) -> int:
    """Print the list; it only reads: how a job ended is said on the pages or by the API, with a name."""
    if arguments.list:
        return _print_list(arguments)
    if any(given is not None for given in (arguments.engine, arguments.rig, arguments.lying)):
        raise TroubleError("--engine, --rig and --lying go with --list: a vessel's own stand in her record")
    if arguments.vessel is None or arguments.settings is None:
        raise TroubleError("name the vessel and give --settings FILE, or ask for the jobs alone with --list")
    settings = settings_from(arguments.settings)
    lists = work_lists(settings.yard.work_lists)
    with opened(settings) as view:
        stored = view.record(arguments.vessel)
        if stored is None:
            raise RefusedError(f"no vessel {arguments.vessel!r} in this journal; coldberth vessel list names them")
        clock = yard_clock(settings, view)
    record = stored.vessel
    shown = work_shown(lists, record)
    if arguments.json:
        print(WorkOut.of(record, shown).model_dump_json(indent=2))
        return 0
    left = len(shown.jobs) - shown.said
    print(f"{record.name}, {record.place}. {shown.said} of {len(shown.jobs)} jobs written down, {left} still to say.")
    print(BOOK_FIRST)
    if shown.not_known:
        print(f"Her record does not say {', nor '.join(shown.not_known)}: jobs for every kind of boat are listed.")
    for system in shown.systems:
        _print_jobs(system.name, (job for job in system.jobs if job.said is None or not arguments.left), clock)
    _print_jobs("Beside the list", () if arguments.left else shown.beside, clock)
    return 0


def _print_list(arguments: argparse.Namespace) -> int:
    if arguments.vessel is not None or arguments.json or arguments.left:
        raise TroubleError("--list is for a kind of boat: leave the vessel, --left and --json out, or leave --list out")
    folder = None if arguments.settings is None else settings_from(arguments.settings).yard.work_lists
    print(BOOK_FIRST)
    engine = None if arguments.engine is None else Engine(arguments.engine)
    rig = None if arguments.rig is None else Rig(arguments.rig)
    lying = None if arguments.lying is None else Lying(arguments.lying)
    jobs = jobs_for(work_lists(folder), engine, rig, lying)
    for system, some in groupby(jobs, key=lambda job: job.system):
        print(f"{system}:")
        for job in some:
            print(f"  [ ] {job.id}: {job.what}")
            _print_beside(job)
    return 0


def _print_jobs(heading: str, jobs: Iterable[JobShown], clock: YardClock) -> None:
    for number, shown in enumerate(jobs):
        if number == 0:
            print(f"{heading}:")
        print(f"  [{_BOXES[shown.slug]}] {shown.work.id}: {shown.work.what}")
        said = shown.said
        if said is None:
            _print_beside(shown.work)
            continue
        to = f"to: {said.instruction}" if said.instruction else ""
        words = [f"{shown.word}, {said.by}, {clock.day(said.on)}", to, said.reason, said.note]
        words += [f"{r.what} {r.value:.12g} {r.unit}".rstrip() for r in said.readings]
        words += [f"{len(said.photos)} photos"] if said.photos else []
        print(f"      {'. '.join(word for word in words if word)}.")
        for item in shown.items:
            closed = f"put right {clock.day(item.closed)}" if item.closed else f"due {item.due}"
            print(f"      tag {item.tag}: {item.what}, {closed}")


def _print_beside(job: WorkJob) -> None:
    if job.caution:
        print(f"      ! {job.caution}")

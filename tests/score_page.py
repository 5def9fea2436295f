"""Joins results of ``coldberth score`` into deploy/docs/score.md. ``python -m tests.score_page RESULT.json ...``."""

import sys
from collections.abc import Sequence
from pathlib import Path

from simulator.score.bounds import most_by_groups
from simulator.score.figures import SIDES, figures_of
from simulator.score.files import read_result
from simulator.score.results import Result, VesselWinter
from simulator.score.table import print_figures, print_misses
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "score.md"
BEGINS, ENDS = "<!-- score -->", "<!-- /score -->"
ORDINARY = ("ordinary", "ordinary-with-forecast")


def block(results: Sequence[Result]) -> str:
    """Give what stands between the page's marks: commands, the table of all lines, and false alerts by winter."""
    lines = joined(results)
    watch, fixed = (figures_of(lines, side) for side in SIDES)
    text = [BEGINS, "", "```"]
    text += [f"{r.date[:10]}  coldberth {r.coldberth}  {r.command}" for r in results]
    text += ["", *print_figures(watch, fixed), *print_misses(lines), "```", ""]
    text += ["| winters | vessel-winters | skies | false alarms | false warnings | openings a day at 300 boats |"]
    text += ["|---|---:|---:|---:|---:|---:|"]
    ordinary = [line for line in lines if line.winter in ORDINARY]
    wolves = [line for line in lines if line.winter.startswith("wolf-") or line.winter == "bad-sensors"]
    quiet = [line for line in lines if line.winter.startswith("quiet")]
    rest = [line for line in lines if line not in (*ordinary, *wolves, *quiet)]
    named = (
        ("ordinary, with the prevalences of their documents", ordinary),
        ("nothing goes wrong (quiet)", quiet),
        ("harmless things and bad sensors (wolf, bad-sensors)", wolves),
        ("faults alone and together", rest),
    )
    text += [_false(name, of) for name, of in named if of]
    return "\n".join([*text, "", ENDS])


def joined(results: Sequence[Result]) -> list[VesselWinter]:
    """Give the lines of all results, one that stands in several of them once.

    Raises:
        ValueError: where one vessel-winter came out otherwise in two of them.
    """
    lines: dict[tuple[str, int, str], VesselWinter] = {}
    for line in (line for result in results for line in result.vessel_winters):
        if lines.setdefault(line.name, line) != line:
            raise ValueError(f"{line.name} came out otherwise in two of the results: were they made by one program?")
    return list(lines.values())


def filled(text: str, results: Sequence[Result]) -> str:
    """Give the page with the figures filled in.

    Raises:
        ValueError: where it has no place for them.
    """
    return fill(text, BEGINS, ENDS, block(results), PAGE)


def _false(name: str, lines: Sequence[VesselWinter]) -> str:
    figures = figures_of(lines, "watch")
    skies: dict[int, list[VesselWinter]] = {}
    for line in lines:
        skies.setdefault(line.seed, []).append(line)
    cells = []
    for f in figures.false:
        events = [sum(a.priority == f.priority for line in sky for a in line.watch.false) for sky in skies.values()]
        by_sky = most_by_groups(events, [len(sky) for sky in skies.values()])
        skied = "" if by_sky is None else f", {by_sky:.3f} by skies"
        cells.append(f"{f.n} ({f.per_vessel_winter:.3f}, at most {f.most:.3f}{skied})")
    return f"| {name} | {len(lines)} | {len(skies)} | {' | '.join(cells)} | {figures.yard_day:.1f} |"


if __name__ == "__main__":
    read = [read_result(Path(name)) for name in sys.argv[1:]]
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8"), read), encoding="utf-8")
    sys.stdout.write(f"{PAGE}: {len(joined(read))} vessel-winters\n")

"""Plays the frost night over many boats, whole and killed, and puts its count into deploy/docs/telling.md.

``python -m tests.night_page [BOATS [KILLS]]``: 200 boats and 20 kills take some minutes.
"""

import argparse
import shutil
import sys
import tempfile
import time
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from acceptance.frost_night import Count, FrostNight
from fixtures_broker import Broker

from monitor.model.notice import NoticeKind
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "telling.md"
BEGINS, ENDS = "<!-- night -->", "<!-- /night -->"
ORDER = tuple(kind.value for kind in NoticeKind)


def played(boats: int, kills: int, folder: Path) -> tuple[Count, list[tuple[object, ...]]]:
    """Play one night; give its count, and what was told to whom."""
    program = shutil.which("mosquitto", path="/usr/sbin:/usr/bin:/usr/local/sbin")
    if program is None:
        raise SystemExit("mosquitto is not installed: deploy/test installs it")
    with ExitStack() as stack:
        broker = Broker(program, folder / f"broker-{kills}")
        broker.start()
        stack.callback(broker.stop)
        night = FrostNight(folder / f"night-{kills}", broker, boats)
        stack.callback(night.close)
        night.import_records()
        night.start()
        night.play(kills, 3)
        night.deliver(kills, 4)
        return night.count(), night.told()


def block(whole: Count, killed: Count, *, same: bool) -> str:
    """Give what stands between the page's marks."""
    day = datetime.now(UTC).date().isoformat()
    lines = [BEGINS, "", f"{day}, `python -m tests.night_page {whole.boats} {killed.kills // 2}`, on 2 cores:", ""]
    lines += ["| | undisturbed | killed |", "|---|---:|---:|"]
    rows = (
        ("boats", whole.boats, killed.boats),
        ("SIGKILLs of the agent at random points, while readings came and while messages went", 0, killed.kills - 1),
        ("readings published and acknowledged", whole.readings, killed.readings),
        ("stored", whole.stored, killed.stored),
        ("fleet events, and their boats", _events(whole), _events(killed)),
        ("messages planned", whole.planned, killed.planned),
        ("e-mails taken by the server", whole.mails, killed.mails),
        ("webhooks taken by the receiver", whole.hooks, killed.hooks),
        ("lost", whole.lost, killed.lost),
        ("come twice, with the same id", whole.doubled, killed.doubled),
        ("come twice otherwise, or never planned", whole.doubled_otherwise, killed.doubled_otherwise),
    )
    lines += [f"| {name} | {one} | {two} |" for name, one, two in rows]
    lines += ["", f"The same people were told the same at the same event times in both: {'yes' if same else 'NO'}.", ""]
    lines += ["| told, in the undisturbed night | messages |", "|---|---:|"]
    told = sorted(whole.notices.items(), key=lambda item: (item[0][0], ORDER.index(item[0][1])))
    lines += [f"| {who}, {kind} | {count} |" for (who, kind), count in told]
    return "\n".join([*lines, "", ENDS])


def _events(count: Count) -> str:
    return ", ".join(f"{about}: {boats}" for about, boats in count.fleet_events)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.night_page")
    parser.add_argument("boats", type=int, nargs="?", default=200)
    parser.add_argument("kills", type=int, nargs="?", default=20, help="while readings come; as many while messages go")
    asked = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        whole, told = played(asked.boats, 0, Path(name))
        killed, told_killed = played(asked.boats, asked.kills, Path(name))
    PAGE.write_text(
        fill(PAGE.read_text("utf-8"), BEGINS, ENDS, block(whole, killed, same=told == told_killed), PAGE), "utf-8"
    )
    sys.stdout.write(f"{PAGE}: {asked.boats} boats, {killed.kills} kills, {time.monotonic() - began:.0f} s\n")

"""Runs the demo's winter and puts its alert load into deploy/docs/telling.md. ``python -m tests.load_page``."""

import subprocess
import sys
import tempfile
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

from monitor.model.scale import Priority
from monitor.model.views import STANDING_DAYS, AlertLoad
from monitor.store.told import CHATTERS_FROM
from monitor.store.view import JournalView
from simulator.winter import yard_winter
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "telling.md"
BEGINS, ENDS = "<!-- load -->", "<!-- /load -->"


def block(load: AlertLoad, highest: Counter[Priority], calls: Counter[str], boats: int) -> str:
    """Give what stands between the page's marks."""
    day = datetime.now(UTC).date().isoformat()
    lines = [BEGINS, "", f"{day}, `python -m tests.load_page`: {boats} boats, {load.days:.0f} days.", ""]
    lines += ["| opened, by the highest they came to | in all | a day | a day at 300 boats |", "|---|---:|---:|---:|"]
    for priority in sorted(Priority, reverse=True):
        n = highest[priority]
        lines.append(f"| {priority.word}s | {n} | {n / load.days:.2f} | {n / load.days / boats * 300:.1f} |")
    told = ", ".join(f"{n} of {'one boat' if kind == 'vessel' else 'the fleet'}" for kind, n in sorted(calls.items()))
    lines += ["", f"Calls: {told}."]
    lines += [
        "",
        f"Standing for more than {STANDING_DAYS:.0f} days at the end (nobody acts in the demo): {len(load.standing)}.",
    ]
    lines += [f"- {a.priority.word} {a.rule}/{a.subject}, {a.vessel}, {a.state}" for a in load.standing]
    lines += ["", f"Chattering ({CHATTERS_FROM} times or more within a day): {len(load.chattering)}."]
    lines += [f"- {a.rule}/{a.subject}, {a.vessel}: {n} times" for a, n in load.chattering]
    return "\n".join([*lines, "", ENDS])


if __name__ == "__main__":
    winter = yard_winter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "kept"
        command = [sys.executable, "-m", "monitor", "demo", "--headless", "--minutes", "0", "--keep", str(folder)]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        view = JournalView(folder / "journal.sqlite")
        from_ms = winter.plan.begins_ms
        load = view.load(from_ms, from_ms + winter.days * 86_400_000)
        calls = Counter(call.kind.value for call in view.calls(open_only=False))
        opened = view.alerts(open_only=False, limit=100_000)
        view.close()
    highest = Counter(alert.highest for alert in opened)
    made = block(load, highest, calls, len(winter.vessels))
    PAGE.write_text(fill(PAGE.read_text("utf-8"), BEGINS, ENDS, made, PAGE), "utf-8")
    sys.stdout.write(f"{PAGE}: {sum(load.opened.values())} alerts opened\n")

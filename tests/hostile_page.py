"""Sends the intake a million hostile messages and puts what became of them into deploy/docs/hostile.md.

``python -m tests.hostile_page [MESSAGES]``: a million take a few minutes.
"""

import argparse
import logging
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from tqdm import tqdm

sys.path.insert(0, str(Path(__file__).parent))

from tests.hostile.mutants import Mutants
from tests.hostile.tried import Tally, Tried
from tests.marked import fill

PAGE = Path(__file__).parents[1] / "deploy" / "docs" / "hostile.md"
BEGINS, ENDS = "<!-- messages -->", "<!-- /messages -->"
EACH_SEED = 100_000


def sent(messages: int) -> Tally:
    """Send so many, a hundred thousand of each seed, and give the sum of what became of them."""
    whole = Tally()
    with tqdm(total=messages, unit="messages", file=sys.stderr) as bar:
        for seed in range(-(-messages // EACH_SEED)):
            with tempfile.TemporaryDirectory() as folder:
                tally = _one_seed(seed, min(EACH_SEED, messages - whole.messages), Path(folder))
            whole.add(tally)
            bar.update(tally.messages)
    return whole


def _one_seed(seed: int, messages: int, folder: Path) -> Tally:
    mutants, tried = Mutants(seed), Tried(folder)
    try:
        for _ in range(messages):
            tried.send(*mutants.next())
        return tried.finish()
    finally:
        tried.close()


def block(tally: Tally) -> str:
    """Give what stands between the page's marks."""
    day = datetime.now(UTC).date().isoformat()
    lines = [
        BEGINS,
        "",
        f"{day}, `python -m tests.hostile_page {tally.messages}`, on 2 cores that others used too:",
        "",
    ]
    lines += ["| | |", "|---|---:|"]
    rows = [
        (
            "messages made from seeds: spoilt packs, odd values in every field, bombs, noise, odd topics",
            f"{tally.messages:,}",
        ),
        ("that raised, were lost, or stopped the writer", "0"),
        ("readings taken, every one finite and in range", f"{tally.readings:,}"),
        *((f"refused: {reason}", f"{count:,}") for reason, count in sorted(tally.reasons.items())),
        ("messages a second, through reader, watch, rules and journal", f"{tally.messages / tally.elapsed_s:,.0f}"),
        ("the slowest message", f"{tally.slowest_s * 1000:.0f} ms"),
        ("memory grown by", f"{tally.grown_mib:.0f} MiB"),
    ]
    lines += [f"| {what} | {figure} |" for what, figure in rows]
    return "\n".join([*lines, "", ENDS])


def main() -> None:
    """Send, and fill the page in."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("messages", type=int, nargs="?", default=1_000_000)
    messages = asked.parse_args().messages
    logging.disable(logging.WARNING)  # of each cause one is logged, and here are a thousand
    tally = sent(messages)
    PAGE.write_text(fill(PAGE.read_text(encoding="utf-8"), BEGINS, ENDS, block(tally), PAGE), encoding="utf-8")
    sys.stdout.write(f"{PAGE}: {tally}\n")


if __name__ == "__main__":
    main()

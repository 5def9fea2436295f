"""The score's files: JSON to keep and compare by, CSV for a spreadsheet."""

import csv
from pathlib import Path
from typing import TextIO

from pydantic import ValidationError

from monitor.model.document import DocumentError, mistakes
from simulator.score.figures import SIDES, figures_of
from simulator.score.results import Result

HEAD = (
    "side",
    "row",
    "episodes",
    "caught",
    "missed",
    "missed_rate_most",
    "median_s",
    "worst_tenth_s",
    "within_target",
    "reached",
    "false_per_vessel_winter",
    "false_most",
    "alerts_a_yard_day",
)


def read_result(path: Path) -> Result:
    """Read a result that was written before.

    Raises:
        DocumentError: where it cannot be read, is none, or is of another form: with what to do.
    """
    try:
        return Result.model_validate_json(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise DocumentError(f"{path}: {error.strerror}; give a file that coldberth score --json has written") from error
    except (ValidationError, UnicodeDecodeError) as error:
        said = mistakes(error, str(path))[:3] if isinstance(error, ValidationError) else [f"{path}: not UTF-8 text"]
        raise DocumentError(
            "\n".join([*said, f"{path} was not written by coldberth score --json, or by another version"])
        ) from error


def write_csv(result: Result, out: TextIO) -> None:
    """Write the figures, a line each row and side; what a line has not is empty."""
    rows = csv.DictWriter(out, HEAD, lineterminator="\n")
    rows.writeheader()
    for side in SIDES:
        figures = figures_of(result.vessel_winters, side)
        for row in figures.rows:
            rows.writerow(
                {
                    "side": side,
                    "row": row.name,
                    "episodes": row.n,
                    "caught": row.caught,
                    "missed": row.missed,
                    "missed_rate_most": row.missed_most,
                    "median_s": row.median_s,
                    "worst_tenth_s": row.worst_tenth_s,
                    "within_target": row.within,
                    "reached": row.reached,
                }
            )
        for false in figures.false:
            rows.writerow(
                {
                    "side": side,
                    "row": f"false, priority {false.priority}",
                    "episodes": false.n,
                    "false_per_vessel_winter": false.per_vessel_winter,
                    "false_most": false.most,
                }
            )
        rows.writerow({"side": side, "row": "alerts at the yard", "alerts_a_yard_day": figures.yard_day})

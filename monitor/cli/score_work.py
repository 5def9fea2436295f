"""The work of a score: vessels' winters through the watch and the fixed thresholds, cut into pieces for processes."""

from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context

from monitor.cli.heard import fold
from monitor.model.document import DocumentError
from simulator.library import read_winter
from simulator.score.baseline import Baseline
from simulator.score.case import Case
from simulator.score.judge import side_of
from simulator.score.results import VesselWinter
from simulator.score.stretches import stretches_of
from simulator.truth import TruthLog
from simulator.winter import Winter

VESSELS_A_PIECE = 4
DAY_MS = 86_400_000


class ScoringError(Exception):
    """A vessel's winter could not be scored; its text names winter, seed and vessel."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Some vessels of one winter and seed.

    Attributes:
        winter: the winter's name.
        seed: the seed.
        vessels: how many vessels the winter is to have, None for its own number.
        cadence_s: seconds between packs, None for its own.
        numbers: which of its vessels.
    """

    winter: str
    seed: int
    vessels: int | None
    cadence_s: int | None
    numbers: tuple[int, ...]


def pieces_of(winters: Sequence[str], seeds: Sequence[int], vessels: int | None, cadence_s: int | None) -> list[Piece]:
    """Cut the work into pieces. How many vessels a winter has does not depend on its seed."""
    pieces = []
    for name in winters:
        many = len(read_winter(name, vessels, seeds[0], cadence_s).vessels)
        for seed in seeds:
            for first in range(0, many, VESSELS_A_PIECE):
                numbers = tuple(range(first, min(first + VESSELS_A_PIECE, many)))
                pieces.append(Piece(name, seed, vessels, cadence_s, numbers))
    return pieces


def done(pieces: Sequence[Piece], jobs: int) -> Iterator[tuple[int, list[VesselWinter]]]:
    """Do the work, in this process where there is one job; give each piece's place and lines as it is done.

    Raises:
        ScoringError: where a vessel's winter fails. What has not begun is left.
    """
    if jobs == 1:
        for n, piece in enumerate(pieces):
            yield n, score_piece(piece)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        try:
            waiting = {pool.submit(score_piece, piece): n for n, piece in enumerate(pieces)}
            while waiting:
                finished, _ = wait(waiting, return_when=FIRST_COMPLETED)
                for future in finished:
                    yield waiting.pop(future), future.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def score_piece(piece: Piece) -> list[VesselWinter]:
    """Score some vessels of one winter.

    Raises:
        ScoringError: where one fails.
    """
    winter = _winter(piece.winter, piece.vessels, piece.seed, piece.cadence_s)
    lines = []
    for number in piece.numbers:
        try:
            lines.append(score_vessel(winter.alone(number), piece.winter, piece.seed))
        except DocumentError as error:
            raise ScoringError(f"winter {piece.winter}: {error}") from error
        except Exception as error:
            vessel = winter.vessels[number].id
            raise ScoringError(
                f"winter {piece.winter}, seed {piece.seed}, vessel {vessel}: {type(error).__name__}: {error}"
            ) from error
    return lines


def score_vessel(winter: Winter, name: str, seed: int) -> VesselWinter:
    """Score a winter of one vessel, both watches on the same messages."""
    (record,) = winter.vessels
    plan = winter.plan
    log, baseline = TruthLog(), Baseline(record, plan.begins_ms)
    heard = fold(winter, log, overhear=baseline.take)
    keys = heard.keys()
    case = Case(log, record, winter.calendar, winter.has_forecast, plan.begins_ms, plan.ends_ms)
    return VesselWinter(
        winter=name,
        seed=seed,
        vessel=record.id,
        days=(plan.ends_ms - plan.begins_ms) / DAY_MS,
        watch=side_of(
            case,
            stretches_of([said.event for said in heard.said], keys, plan.ends_ms),
            stretches_of(heard.warning.get(record.id, []), keys, plan.ends_ms),
        ),
        fixed=side_of(case, baseline.stretches(plan.ends_ms)),
    )


@lru_cache(maxsize=2)
def _winter(name: str, vessels: int | None, seed: int, cadence_s: int | None) -> Winter:
    return read_winter(name, vessels, seed, cadence_s)

"""Photos that somebody hands in: made small, kept in the journal, and named by what they are kept as."""

from collections.abc import Iterable, Sequence

from fastapi.concurrency import run_in_threadpool

from monitor.model.photo import Photo
from monitor.web.commands import taken
from monitor.web.deps import Deps
from monitor.web.photo_made import PhotoError, made_small, photo_id
from monitor.web.problems import Mistake
from monitor.web.sight import Viewer

LONGEST_NAME = 60


def kept_photos(deps: Deps, vessel_id: str, ids: Iterable[str]) -> tuple[str, ...]:
    """Give those of some ids of which this vessel has a photo: a form may bring any."""
    return tuple(one for one in ids if deps.photos.photo(vessel_id, one) is not None)


async def new_photos(
    deps: Deps, viewer: Viewer, vessel_id: str, by: str, files: Sequence[tuple[str, bytes]], room: int
) -> tuple[list[str], list[Mistake]]:
    """Keep photos, and give their ids, with what is wrong with those that are not taken.

    Args:
        deps: what the pages are given.
        viewer: who asks.
        vessel_id: whose photos they are; that this viewer may see her was asked before.
        by: who hands them in, where nobody is signed in.
        files: their names and bytes.
        room: how many there is room for.

    Raises:
        ProblemError: where the journal did not take them.
    """
    photos: list[Photo] = []
    wrong: list[Mistake] = []
    for name, data in files:
        if len(photos) == max(room, 0):
            wrong.append(_mistake(name, "is one too many for this job: take another off first"))
            continue
        try:
            jpeg = await run_in_threadpool(made_small, data)
        except PhotoError as error:
            wrong.append(_mistake(name, str(error)))
        else:
            photos.append(Photo(photo_id(jpeg), vessel_id, deps.now_ms(), viewer.acts_as(by)[:80], jpeg))
    if photos:
        await taken(deps.keep_photos(photos))
    return [photo.id for photo in photos], wrong


def _mistake(name: str, reason: str) -> Mistake:
    return Mistake(key="photos", reason=f"{name[:LONGEST_NAME]} {reason}.")

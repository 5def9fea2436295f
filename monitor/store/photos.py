"""Photos in the journal: written through the one writer, read by vessel and id, and held against their ids."""

import hashlib
from collections.abc import Iterator, Sequence
from sqlite3 import Connection

from monitor.model.photo import Photo
from monitor.model.vessel import Vessel
from monitor.store.reader import Reader


def write_photos(db: Connection, photos: Sequence[Photo]) -> None:
    """Write photos; one that is there already stays as it is."""
    db.executemany(
        "INSERT INTO photo (vessel, id, at_ms, actor, jpeg) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        [(photo.vessel, photo.id, photo.at_ms, photo.by, photo.jpeg) for photo in photos],
    )


def read_photo(reader: Reader, vessel: str, photo: str) -> Photo | None:
    """Give a vessel's photo by its id, None where she has none of it."""
    row = reader.row("SELECT id, vessel, at_ms, actor, jpeg FROM photo WHERE vessel = ? AND id = ?", (vessel, photo))
    return None if row is None else Photo(*row)


def photo_sizes(db: Connection) -> tuple[int, int]:
    """Give how many photos there are, and how many bytes they have."""
    count, size = db.execute("SELECT count(*), coalesce(sum(length(jpeg)), 0) FROM photo").fetchone()
    return int(count), int(size)


def photos_changed(db: Connection) -> Iterator[str]:
    """Give each photo whose bytes are no longer those of its id, in words."""
    for vessel, photo, jpeg in db.execute("SELECT vessel, id, jpeg FROM photo ORDER BY vessel, id"):
        if hashlib.sha256(jpeg).hexdigest() != photo:
            yield f"{vessel}: photo {photo[:12]} was changed afterwards"


def photos_missing(db: Connection) -> Iterator[str]:
    """Give each photo that the valid record of a vessel names and that is not there, in words."""
    there = {(vessel, photo) for vessel, photo in db.execute("SELECT vessel, id FROM photo")}
    newest = (
        "SELECT document FROM record AS r WHERE version = (SELECT max(version) FROM record WHERE vessel = r.vessel)"
    )
    for (document,) in db.execute(f"{newest} ORDER BY vessel"):
        record = Vessel.model_validate_json(document)
        for job in record.jobs:
            for photo in job.photos:
                if (record.id, photo) not in there:
                    yield f"{record.id}: job {job.id} names photo {photo[:12]}, which is not in the journal"

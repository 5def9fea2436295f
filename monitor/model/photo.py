"""A photo as it is kept: made small, without its place and time, by the SHA-256 of its bytes."""

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Photo:
    """A JPEG of a vessel.

    Attributes:
        id: the SHA-256 of ``jpeg``, in hexadecimal.
        vessel: whose record it belongs to.
        at_ms: when it was handed in (ms UTC).
        by: who handed it in.
        jpeg: its bytes.
    """

    id: str
    vessel: str
    at_ms: int
    by: str
    jpeg: bytes


class PhotoView(Protocol):
    """Photos of vessels."""

    def photo(self, vessel: str, photo: str) -> Photo | None:
        """Give a vessel's photo by its id, None where she has none of it."""
        ...


class NoPhotos:
    """Where none are kept."""

    def photo(self, vessel: str, photo: str) -> Photo | None:  # noqa: ARG002 - as `PhotoView` has it
        """Give None."""
        return None

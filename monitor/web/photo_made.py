"""Makes a photo small, and takes off it everything that is not the picture: place, time, phone, comments."""

import hashlib
import io
import struct
import threading
import zlib

from PIL import Image, ImageOps, UnidentifiedImageError

LARGEST_PHOTO = 12_000_000  # bytes: a phone's JPEG has 2 to 8 million
MOST_PIXELS = 65_000_000  # a phone's largest sensors: an ordinary JPEG is read at a part of its size
MOST_PIXELS_WHOLE = 16_000_000  # of what is read whole, in the memory of the watch: 200 MB while it is made small
LONGEST_SIDE = 1_600  # pixels: a tag's number can be read, and a photo has a few hundred kB
QUALITY = 80
FORMATS = ("JPEG", "PNG", "WEBP")

_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis"})
# What Pillow's readers raise over a file that is broken, or made to break them.
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
_one_at_a_time = threading.Lock()
"""A large photo takes much memory while it is made small."""


class PhotoError(ValueError):
    """A photo that is not taken. Its text says why, and what to do."""


def made_small(data: bytes) -> bytes:
    """Give a photo as a JPEG of at most 1600 pixels a side, upright, with nothing beside the picture.

    Raises:
        PhotoError: where it is none that can be used, in words.
    """
    if len(data) > LARGEST_PHOTO:
        raise PhotoError(
            f"has {len(data) / 1e6:.0f} MB, and at most {LARGEST_PHOTO / 1e6:.0f} are taken: take it again, smaller"
        )
    if data[4:8] == b"ftyp" and data[8:12] in _BRANDS:
        raise PhotoError("is HEIC or AVIF, which not every browser shows: set the camera to JPEG, and take it again")
    with _one_at_a_time:
        try:
            return _small(data)
        except PhotoError:
            raise
        except UnidentifiedImageError as error:
            raise PhotoError("is no photo in JPEG, PNG or WebP") from error
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
            raise PhotoError(_too_many(MOST_PIXELS)) from error
        except _BROKEN as error:
            raise PhotoError("is broken: take it again") from error


def photo_id(jpeg: bytes) -> str:
    """Give the id of a photo: the SHA-256 of its bytes as they are kept."""
    return hashlib.sha256(jpeg).hexdigest()


def _small(data: bytes) -> bytes:
    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        most = MOST_PIXELS_WHOLE if image.format != "JPEG" or "progressive" in image.info else MOST_PIXELS
        if image.width * image.height > most:
            raise PhotoError(_too_many(most))
        image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is read at a part of its size
        image.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)  # before it is copied
        upright = ImageOps.exif_transpose(image)
        # Onto a new one: a copy would bring comments and profiles along, and what shines through would be black.
        picture = Image.new("RGB", upright.size, "white")
        if upright.has_transparency_data:
            upright = upright.convert("RGBA")
            picture.paste(upright, mask=upright.getchannel("A"))
        else:
            picture.paste(upright.convert("RGB"))
        into = io.BytesIO()
        picture.save(into, "JPEG", quality=QUALITY, optimize=True)
        return into.getvalue()


def _too_many(most: int) -> str:
    return f"has more than {most // 1_000_000} million pixels: take it again as an ordinary JPEG, smaller"

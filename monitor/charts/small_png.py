"""A drawn chart as a small PNG: a palette instead of four bytes a pixel, and packed as well as can be.

What draws the charts writes 8-bit RGBA, packed for speed: five to ten times what a chart of few inks needs. The format
is that of ISO/IEC 15948 (PNG, second edition): chunks 5.3, filters 9.2, palette 11.2.3.
"""

import struct
import sys
import zlib
from collections.abc import Iterable, Iterator

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_HEADER = ">IIBBBBB"
_RGBA_8 = (8, 6, 0, 0, 0)
_PALETTE_8 = (8, 3, 0, 0, 0)
_PIXEL_BYTES = 4
_OPAQUE = 255
_MOST_INKS = 256
# How many steps a channel may have; six to the third is the first that always fits a palette.
_STEPS = (256, 64, 32, 16, 6)


def small_png(png: bytes) -> bytes:
    """Write a PNG with a palette of at most 256 inks, rounded as little as makes them fit.

    Only 8-bit RGBA, all of it opaque and not interlaced, is written anew; any other form is given back as it is.

    Raises:
        ValueError: where it is no PNG.
    """
    if not png.startswith(SIGNATURE):
        raise ValueError(f"no PNG: it begins with {png[:8]!r}")
    chunks = list(_chunks(png))
    width, height, *form = struct.unpack(_HEADER, dict(chunks)[b"IHDR"])
    if tuple(form) != _RGBA_8:
        return png
    raw = zlib.decompress(b"".join(data for kind, data in chunks if kind == b"IDAT"))
    rows = [memoryview(row).cast("I") for row in _rows(raw, width * _PIXEL_BYTES)]
    colours = {pixel: pixel.to_bytes(_PIXEL_BYTES, sys.byteorder) for pixel in set().union(*rows)}
    if any(colour[3] != _OPAQUE for colour in colours.values()):
        return png
    rounded = _rounded(colours)
    inks = {ink: number for number, ink in enumerate(sorted(set(rounded.values())))}
    number_of = {pixel: inks[ink] for pixel, ink in rounded.items()}
    packed = b"".join(b"\0" + bytes(map(number_of.__getitem__, row)) for row in rows)
    return SIGNATURE + b"".join(
        _chunk(kind, data)
        for kind, data in (
            (b"IHDR", struct.pack(_HEADER, width, height, *_PALETTE_8)),
            (b"PLTE", b"".join(inks)),
            (b"IDAT", zlib.compress(packed, 9)),
            (b"IEND", b""),
        )
    )


def _rounded(colours: dict[int, bytes]) -> dict[int, bytes]:
    """Give each pixel's colour, without its alpha, in so many steps that all fit a palette."""
    for steps in _STEPS:
        most = steps - 1
        nearest = bytes(round(round(v * most / 255) * 255 / most) for v in range(256))
        rounded = {pixel: colour[:3].translate(nearest) for pixel, colour in colours.items()}
        if len(set(rounded.values())) <= _MOST_INKS:
            break
    return rounded


def _rows(raw: bytes, length: int) -> Iterator[bytearray]:
    """Give the rows of a picture with their filters taken off."""
    before = bytearray(length)
    for at in range(0, len(raw), length + 1):
        row = bytearray(raw[at + 1 : at + 1 + length])
        _unfilter(raw[at], row, before)
        yield row
        before = row


def _unfilter(kind: int, row: bytearray, above: bytearray) -> None:
    """Take the filter off a row, in place: none, left, above, their average, or the nearest of three (Paeth)."""
    if kind == 0:
        return
    for at in range(len(row)):
        left = row[at - _PIXEL_BYTES] if at >= _PIXEL_BYTES else 0
        if kind == 1:
            guess = left
        elif kind == 2:  # noqa: PLR2004 - the filters' numbers, as the standard has them
            guess = above[at]
        elif kind == 3:  # noqa: PLR2004 - as above
            guess = (left + above[at]) // 2
        else:
            guess = _paeth(left, above[at], above[at - _PIXEL_BYTES] if at >= _PIXEL_BYTES else 0)
        row[at] = (row[at] + guess) & 0xFF


def _paeth(left: int, above: int, corner: int) -> int:
    """Give which of three neighbours lies nearest to what they make expect."""
    expected = left + above - corner
    return min((left, above, corner), key=lambda one: abs(expected - one))


def _chunks(png: bytes) -> Iterable[tuple[bytes, bytes]]:
    at = len(SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        yield png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        at += 12 + length


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

"""A chart written as a small PNG: the same picture, whatever filter it came by, with at most 256 inks."""

import struct
import zlib
from itertools import product

import pytest

from monitor.charts.small_png import SIGNATURE, small_png

WIDTH, HEIGHT = 6, 4
RGBA = bytes([8, 6, 0, 0, 0])
Pixel = tuple[int, int, int, int]
Rows = list[list[Pixel]]


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def written(rows: Rows, kind: int = 0, form: bytes = RGBA) -> bytes:
    """A PNG of these rows, all by one filter (ISO/IEC 15948, 9.2), its data in two chunks."""
    flat = [bytes(v for pixel in row for v in pixel) for row in rows]
    raw = b"".join(
        bytes([kind]) + filtered(kind, row, above)
        for row, above in zip(flat, [bytes(len(flat[0])), *flat], strict=False)
    )
    packed = zlib.compress(raw, 1)
    size = struct.pack(">II", len(rows[0]), len(rows))
    parts = (b"IHDR", size + form), (b"IDAT", packed[:20]), (b"IDAT", packed[20:]), (b"IEND", b"")
    return SIGNATURE + b"".join(chunk(name, data) for name, data in parts)


def filtered(kind: int, row: bytes, above: bytes) -> bytes:
    made = bytearray()
    for at, value in enumerate(row):
        left, corner = (row[at - 4], above[at - 4]) if at >= 4 else (0, 0)
        up, expected = above[at], left + above[at] - corner
        paeth = min((left, up, corner), key=lambda one: abs(expected - one))
        made.append((value - (0, left, up, (left + up) // 2, paeth)[kind]) % 256)
    return bytes(made)


def read(png: bytes) -> list[list[tuple[int, ...]]]:
    """Read a PNG with a palette and without filters."""
    found, at = {}, len(SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        name, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        assert struct.unpack_from(">I", png, at + 8 + length) == (zlib.crc32(name + data),)
        found[name] = data
        at += 12 + length
    width, height, *form = struct.unpack(">IIBBBBB", found[b"IHDR"])
    assert form == [8, 3, 0, 0, 0]
    inks = [tuple(found[b"PLTE"][n : n + 3]) for n in range(0, len(found[b"PLTE"]), 3)]
    assert len(inks) <= 256
    raw = zlib.decompress(found[b"IDAT"])
    assert len(raw) == height * (width + 1)
    lines = [raw[n : n + width + 1] for n in range(0, len(raw), width + 1)]
    assert {line[0] for line in lines} == {0}
    return [[inks[number] for number in line[1:]] for line in lines]


def few() -> Rows:
    return [[(250 - 40 * y, 7 * x, (x * y * 31) % 256, 255) for x in range(WIDTH)] for y in range(HEIGHT)]


@pytest.mark.parametrize("kind", range(5))
def test_a_picture_of_few_inks_is_the_same_by_every_filter(kind: int) -> None:
    assert read(small_png(written(few(), kind))) == [[pixel[:3] for pixel in row] for row in few()]


def test_of_very_many_inks_the_nearest_are_kept_and_the_ground_stays_white() -> None:
    steps = range(0, 256, 17)
    pixels = [(r, g, b, 255) for r, g, b in product(steps, steps, steps)]
    rows = [pixels[n : n + 64] for n in range(0, len(pixels), 64)]
    made = read(small_png(written(rows)))
    far = max(
        abs(a - b)
        for old, new in zip(rows, made, strict=True)
        for o, n in zip(old, new, strict=True)
        for a, b in zip(o, n, strict=False)
    )
    assert 0 < far <= 26  # half of a fifth of 255
    assert made[-1][-1] == (255, 255, 255)


def test_it_becomes_smaller() -> None:
    row: list[Pixel] = [(255, 255, 255, 255)] * 300 + [(n % 90, n % 90, n % 90, 255) for n in range(300)]
    png = written([row] * 200)
    assert len(small_png(png)) < len(png) / 3


@pytest.mark.parametrize(
    "png",
    [
        written(few(), form=bytes([8, 6, 0, 0, 1])),
        written([[(1, 2, 3, 254)]]),
        small_png(written(few())),
    ],
    ids=["interlaced", "seen through", "a palette already"],
)
def test_a_picture_of_another_form_is_given_back_as_it_is(png: bytes) -> None:
    assert small_png(png) is png


def test_what_is_no_png_is_refused_by_how_it_begins() -> None:
    with pytest.raises(ValueError, match="no PNG: it begins with b'GIF89a'"):
        small_png(b"GIF89a")

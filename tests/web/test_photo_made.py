"""Photos made small: what is kept of them, and what is refused."""

import io
import struct
import zlib

import pytest
from photographed import photo_bytes
from PIL import Image

from monitor.web.photo_made import LARGEST_PHOTO, LONGEST_SIDE, PhotoError, made_small, photo_id


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_made_small_and_nothing_beside_the_picture_stays(form: str) -> None:
    sent = photo_bytes(form)
    assert b"Invented phones" in sent
    kept = made_small(sent)
    image = opened(kept)
    assert (image.format, image.size) == ("JPEG", (LONGEST_SIDE, 800))
    assert dict(image.getexif()) == {}
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    for gone in (b"Invented", b"Eiderhythe", b"Exif", b"GPS"):
        assert gone not in kept
    assert len(photo_id(kept)) == 64


def test_a_photo_taken_with_a_turned_phone_stands_upright() -> None:
    assert opened(made_small(photo_bytes(size=(1000, 600), turned=True))).size == (600, 1000)


def test_a_small_photo_keeps_its_size() -> None:
    assert opened(made_small(photo_bytes(size=(320, 200)))).size == (320, 200)


@pytest.mark.parametrize("mode", ["RGBA", "P", "L", "I;16", "LA", "1"])
def test_what_shines_through_stands_on_white(mode: str) -> None:
    into = io.BytesIO()
    Image.new(mode, (40, 40), 0).save(into, "PNG")
    image = opened(made_small(into.getvalue()))
    assert image.mode == "RGB"
    corner = image.getpixel((5, 5))
    assert isinstance(corner, tuple)
    assert (min(corner) > 250) is (mode in {"RGBA", "LA"})


@pytest.mark.parametrize("brand", [b"heic", b"mif1", b"avif"])
def test_heic_is_refused_with_what_to_do(brand: bytes) -> None:
    with pytest.raises(PhotoError, match="set the camera to JPEG"):
        made_small(b"\0\0\0\x18ftyp" + brand + bytes(200))


def a_png_that_says(width: int, height: int) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("form", "said"), [("PNG", "more than 16"), ("WEBP", "more than 16"), ("JPEG", "")])
def test_only_an_ordinary_jpeg_may_be_large_since_all_else_is_read_whole(form: str, said: str) -> None:
    made = io.BytesIO()
    Image.new("RGB", (5_000, 4_000), "navy").save(made, form)
    if said:
        with pytest.raises(PhotoError, match=said):
            made_small(made.getvalue())
    else:
        assert Image.open(io.BytesIO(made_small(made.getvalue()))).size == (1600, 1280)


def test_a_large_jpeg_that_is_only_read_whole_is_refused() -> None:
    made = io.BytesIO()
    Image.new("RGB", (5_000, 4_000), "navy").save(made, "JPEG", progressive=True)
    with pytest.raises(PhotoError, match="as an ordinary JPEG"):
        made_small(made.getvalue())


@pytest.mark.parametrize("side", [5_000, 9_000, 12_000, 60_000])
def test_a_bomb_is_refused_before_it_is_unpacked(side: int) -> None:
    with pytest.raises(PhotoError, match=r"more than (16|65) million pixels"):
        made_small(a_png_that_says(side, side))


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (bytes(LARGEST_PHOTO + 1), "at most 12 are taken"),
        (b"", "no photo"),
        (b"<svg onload='x'/>", "no photo"),
        (b"GIF89a" + bytes(50), "no photo"),
        (photo_bytes()[:3000], "is broken"),
        (a_png_that_says(300, 300), "is broken"),
        (photo_bytes("WEBP")[:200], "(broken|no photo)"),
    ],
)
def test_what_is_no_whole_photo_is_refused_in_words(data: bytes, reason: str) -> None:
    with pytest.raises(PhotoError, match=reason):
        made_small(data)


@pytest.mark.filterwarnings("ignore::UserWarning")  # by which Pillow tells of odd EXIF, and goes on
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_with_any_byte_broken_is_made_small_or_refused(form: str) -> None:
    sent = photo_bytes(form, (64, 48))
    refused = 0
    for place in range(0, len(sent), 7):
        broken = bytearray(sent)
        broken[place] ^= 0xFF
        try:
            opened(made_small(bytes(broken))).load()
        except PhotoError:
            refused += 1
    assert refused > 0

"""Photos as phones make them, for tests."""

import io

from PIL import Image


def photo_bytes(
    form: str = "JPEG", size: tuple[int, int] = (2400, 1200), *, turned: bool = False, colour: str = "#446688"
) -> bytes:
    """Give a photo with a place, a maker and a comment in it; ``turned`` lies on its side and says so."""
    image = Image.new("RGB", size, colour)
    exif = Image.Exif()
    exif[271] = "Invented phones"  # maker
    exif[274] = 6 if turned else 1  # orientation: the camera was turned
    exif.get_ifd(0x8825)[1] = "N"  # GPS: the half of the globe
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 26.0)
    into = io.BytesIO()
    if form == "JPEG":
        image.save(into, form, exif=exif, comment=b"mooring 12, Eiderhythe")
    else:
        image.save(into, form, exif=exif)
    return into.getvalue()

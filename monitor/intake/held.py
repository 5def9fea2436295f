"""How much memory a parcel holds until it is committed: a pack of 64 KiB makes many times that."""

from monitor.model.parcel import Parcel

# What CPython 3.11 takes on a 64-bit machine, by `tracemalloc`: a number of a pack is 8 bytes on the wire at least, and
# here an object with two more. tests/intake/test_held.py holds the sum against what is really taken.
PARCEL_BYTES = 450
VALUE_BYTES = 140
REJECT_BYTES = 350


def held_bytes(parcel: Parcel) -> int:
    """Give about how many bytes a parcel holds."""
    held = PARCEL_BYTES + len(parcel.topic) + VALUE_BYTES * len(parcel.readings)
    if parcel.rejects:
        held += sum(REJECT_BYTES + len(reject.detail) for reject in parcel.rejects)
    if parcel.forecast is not None:
        held += VALUE_BYTES * len(parcel.forecast.hours)
    return held

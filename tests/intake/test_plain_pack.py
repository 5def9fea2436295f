"""The short way to read a pack gives what the whole way gives, or leaves the pack to it."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.intake.channel import Channel
from monitor.intake.plain_pack import read_plain_pack
from monitor.intake.refusal import Refusal
from monitor.intake.senml import _decode_closely, encode_pack
from monitor.model.parcel import RawReading

CHANNELS = {
    "block": Channel("tern", "block", is_switch=False, unit="Cel"),
    "float": Channel("tern", "float", is_switch=True, unit="/"),
}
NOW_S = 1_700_000_000
values = st.one_of(
    st.floats(),
    st.integers(),
    st.sampled_from([-0.0, 0, 1, 1.0, 2**53, 2**53 + 1, 10**400, 1e9, 1e308, True, None, "4", [], {}]),
)
times = st.one_of(
    st.floats(),
    st.integers(),
    st.sampled_from([0, -5, NOW_S, NOW_S + 0.0005, 2**28, 2**28 - 1, 253_402_300_799.9996, True, "1", None]),
)
names = st.sampled_from(["block", "float", "tern/block", "urn:dev:mac:0:float", "", "gone", 3, None])
units = st.sampled_from(["Cel", "/", "K", "", 1, None])
records = st.fixed_dictionaries(
    {},
    optional={
        "n": names,
        "u": units,
        "t": times,
        "v": values,
        "vb": st.one_of(st.booleans(), values),
        "bn": st.sampled_from(["", "tern/", "tern:block", 7, None]),
        "bt": times,
        "bu": units,
        "bv": values,
        "bver": st.sampled_from([5, 11]),
        "vs": st.sampled_from(["on", "x"]),
        "more": values,
        "must_": values,
    },
)
likely = st.fixed_dictionaries(
    {"n": st.sampled_from(["block", "float"]), "v": st.sampled_from([0, 1, 1.0, -0.0, 4.25])},
    optional={"t": st.sampled_from([0, 0.1, -60, 60.0004]), "u": units, "bt": st.sampled_from([NOW_S, NOW_S + 0.25])},
)


@settings(max_examples=2_000, deadline=None)
@given(st.lists(st.one_of(records, likely, likely), max_size=4), st.booleans())
def test_what_is_read_the_short_way_is_what_the_whole_way_reads(pack: list[dict[str, object]], based: bool) -> None:
    if based:
        pack = [{"bt": NOW_S}, *pack]
    payload = json.dumps(pack).encode()
    plain = read_plain_pack(payload, CHANNELS)
    if plain is None:
        return
    whole = _decode_closely(payload, CHANNELS)
    assert not whole.refusals
    assert [repr(r) for r in whole.readings] == [repr(r) for r in plain]


@pytest.mark.parametrize(
    "payload",
    [
        b'[{"n":"block","v":NaN,"t":1700000000}]',
        b'[{"n":"block","v":1e999,"t":1700000000}]',
        b'[{"n":"block","v":"12.4","t":1700000000}]',
        b'[{"n":"block","v":true,"t":1700000000}]',
        b'[{"n":"block","v":1,"v":"x","t":1700000000}]',
        b'[{"n":"block","v":"x","v":1,"t":1700000000}]',
        b'[{"n":"block","v":1}]',
        b"[]",
        b"[1]",
        b"{}",
        b"",
    ],
)
def test_what_is_wrong_or_rare_is_never_read_otherwise_than_the_whole_way(payload: bytes) -> None:
    plain = read_plain_pack(payload, CHANNELS)
    try:
        whole = _decode_closely(payload, CHANNELS)
    except Refusal:
        assert plain is None
    else:
        assert plain is None or (plain == whole.readings and not whole.refusals)


def test_what_we_write_ourselves_is_read_the_short_way() -> None:
    pack = [("block", "Cel", NOW_S * 1000 + 250, 4.5), ("float", "/", NOW_S * 1000 + 100, 1.0)]
    wanted = [
        RawReading("tern", "float", 1.0, NOW_S * 1000 + 100),
        RawReading("tern", "block", 4.5, NOW_S * 1000 + 250),
    ]
    assert read_plain_pack(encode_pack(pack), CHANNELS) == wanted

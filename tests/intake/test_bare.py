"""Bare numbers, clocks and markers."""

import pytest

from monitor.intake.bare import bare_number, clock_ms, marker_nonce, text_of
from monitor.intake.channel import Channel
from monitor.intake.refusal import Refusal
from monitor.model.parcel import RejectReason

LEVEL = Channel("tern", "level", is_switch=False, unit="m")
FLOAT = Channel("tern", "float", is_switch=True, unit="/")


def read(payload: bytes, channel: Channel) -> float:
    return channel.number(bare_number(text_of(payload), channel))


def reason(payload: bytes, channel: Channel) -> RejectReason:
    with pytest.raises(Refusal) as caught:
        read(payload, channel)
    return caught.value.reason


@pytest.mark.parametrize(
    ("payload", "value"),
    [(b"0.25", 0.25), (b"-3", -3.0), (b"+1.5e-2", 0.015), (b".5", 0.5), (b"2.", 2.0), (b"0.25\r\n", 0.25), (b"0", 0.0)],
)
def test_a_decimal_number_is_read(payload: bytes, value: float) -> None:
    assert read(payload, LEVEL) == value


@pytest.mark.parametrize(
    "payload", [b"", b"nan", b"inf", b"1e999", b"1,5", b"0x10", b"1_000", b"12 V", b"true", b"1" * 41, b"--1", b"1e"]
)
def test_anything_else_is_not_a_number(payload: bytes) -> None:
    assert reason(payload, LEVEL) is RejectReason.NOT_A_NUMBER


@pytest.mark.parametrize("payload", [b"\xff", "٣".encode(), "½".encode()])
def test_what_is_not_ascii_is_malformed(payload: bytes) -> None:
    assert reason(payload, LEVEL) is RejectReason.MALFORMED


@pytest.mark.parametrize("payload", [b"1", b"true", b"on", b"ON", b"True", b"1.0"])
def test_a_switch_is_on(payload: bytes) -> None:
    assert read(payload, FLOAT) == 1.0


@pytest.mark.parametrize("payload", [b"0", b"false", b"off", b"OFF\n"])
def test_a_switch_is_off(payload: bytes) -> None:
    assert read(payload, FLOAT) == 0.0


@pytest.mark.parametrize("payload", [b"2", b"0.5", b"wet", b"-1", b""])
def test_a_switch_says_nothing_else(payload: bytes) -> None:
    assert reason(payload, FLOAT) is RejectReason.NOT_A_NUMBER


def test_a_clock_is_milliseconds_in_digits() -> None:
    assert clock_ms(b"1700000000123") == 1_700_000_000_123


@pytest.mark.parametrize("payload", [b"", b"-1", b"1.7e12", b"253402300800000", b"9" * 500, b"noon", b"\xff"])
def test_another_clock_is_refused(payload: bytes) -> None:
    with pytest.raises(Refusal):
        clock_ms(payload)


def test_a_marker_is_a_short_printable_text() -> None:
    assert marker_nonce(b"5f3a-1") == "5f3a-1"
    for payload in (b"", b"x" * 101, b"a\x00b", b"\xff"):
        with pytest.raises(Refusal):
            marker_nonce(payload)

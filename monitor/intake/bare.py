"""Payloads that are no more than one value: a number or a switch, a clock's milliseconds, a marker."""

import re

from monitor.intake.channel import Channel
from monitor.intake.refusal import Refusal
from monitor.intake.times import END_MS
from monitor.model.parcel import RejectReason

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,4})?", re.ASCII)
_LONGEST_NUMBER = 40
_SWITCH_WORDS = {"true": 1.0, "on": 1.0, "false": 0.0, "off": 0.0}


def text_of(payload: bytes) -> str:
    """Give a payload as ASCII text, without the white space around it that a line-end command leaves.

    Raises:
        Refusal: where it is not ASCII.
    """
    try:
        return payload.decode("ascii").strip(" \t\r\n")
    except UnicodeDecodeError as error:
        raise Refusal(RejectReason.MALFORMED, "not a bare number: it is not ASCII text") from error


def bare_number(text: str, channel: Channel) -> float:
    """Read a decimal number, or one of true, false, on and off (in any case) where the sensor is a switch.

    The number is not yet held against the sensor's unit and kind: `Channel.number` does that.

    Raises:
        Refusal: where it is neither.
    """
    if len(text) <= _LONGEST_NUMBER:
        if _NUMBER.fullmatch(text):
            return float(text)
        if channel.is_switch and text.lower() in _SWITCH_WORDS:
            return _SWITCH_WORDS[text.lower()]
    wanted = "0, 1, on, off, true or false" if channel.is_switch else "a decimal number"
    raise Refusal(RejectReason.NOT_A_NUMBER, f"{channel.sensor}: {text[:40]!r} where {wanted} is wanted")


def clock_ms(payload: bytes) -> int:
    """Read a clock message: milliseconds UTC in decimal digits.

    Raises:
        Refusal: where it is none.
    """
    text = text_of(payload)
    if not (text.isdigit() and len(text) <= len(str(END_MS)) and int(text) < END_MS):
        raise Refusal(RejectReason.WRONG_TIME, f"{text[:40]!r} where milliseconds UTC in digits are wanted")
    return int(text)


def marker_nonce(payload: bytes) -> str:
    """Read a marker's nonce.

    Raises:
        Refusal: where it is none of ours.
    """
    text = text_of(payload)
    if not (text.isprintable() and 0 < len(text) <= 100):  # noqa: PLR2004 - ours are far shorter
        raise Refusal(RejectReason.MALFORMED, "a marker that is none of ours")
    return text

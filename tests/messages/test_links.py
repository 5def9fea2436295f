"""Signed links: whoever holds one was sent it, for a while."""

import re

import pytest

from monitor.messages.links import LINK_AGE_S, LinkError, LinkSigner, can_be_opened_elsewhere

SECRET = b"0123456789abcdef0123456789abcdef"
NOTICE = "b4c29e6303608dea90233aed"


class Wall:
    def __init__(self, now_s: int) -> None:
        self.now_s = now_s

    def __call__(self) -> int:
        return self.now_s


def test_a_token_gives_its_notice_back_and_stands_in_an_address_as_it_is() -> None:
    token = LinkSigner(SECRET).sign(NOTICE)
    assert re.fullmatch(r"[A-Za-z0-9._-]+", token)
    assert LinkSigner(SECRET).read(token) == NOTICE


def test_a_token_is_taken_for_thirty_days_and_no_longer() -> None:
    wall = Wall(1_400_000_000)
    signer = LinkSigner(SECRET, wall)
    token = signer.sign(NOTICE)
    wall.now_s += LINK_AGE_S
    assert signer.read(token) == NOTICE
    wall.now_s += 1
    with pytest.raises(LinkError, match="more than 30 days old"):
        signer.read(token)


def test_a_token_of_a_time_to_come_is_refused_as_such() -> None:
    wall = Wall(1_400_000_000)
    signer = LinkSigner(SECRET, wall)
    token = signer.sign(NOTICE)
    wall.now_s -= 60
    with pytest.raises(LinkError, match="a time that has not come"):
        signer.read(token)


@pytest.mark.parametrize("spoil", [lambda t: t[:-1], lambda t: "c" + t[1:], lambda _: "", lambda t: t + "ü", str.upper])
def test_a_token_that_was_touched_is_refused(spoil: "object") -> None:
    assert callable(spoil)
    token = LinkSigner(SECRET).sign(NOTICE)
    with pytest.raises(LinkError, match="not one of ours"):
        LinkSigner(SECRET).read(spoil(token))


def test_a_token_of_another_secret_is_refused() -> None:
    with pytest.raises(LinkError, match="not one of ours"):
        LinkSigner(SECRET).read(LinkSigner(SECRET[::-1]).sign(NOTICE))


@pytest.mark.parametrize(
    ("address", "elsewhere"),
    [
        ("https://watch.quay.example", True),
        ("http://10.0.0.5:8080", True),
        ("http://[fd00::5]:8080", True),
        ("http://127.0.0.1:8080", False),
        ("http://127.0.1.1:8080", False),
        ("http://[::1]:8080", False),
        ("http://0.0.0.0:8080", False),
        ("http://[::]:8080", False),
        ("http://localhost:8080", False),
        ("http://yard.localhost:8080", False),
        ("", False),
    ],
)
def test_an_address_of_this_machine_alone_leads_nowhere_on_a_phone(address: str, elsewhere: bool) -> None:
    assert can_be_opened_elsewhere(address) == elsewhere


def test_a_secret_that_is_too_short_is_refused() -> None:
    with pytest.raises(ValueError, match="16 random bytes or more"):
        LinkSigner(b"short")

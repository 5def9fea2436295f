"""What gateways keep until the broker has it: in order, each one's part bounded, and what is dropped is counted."""

import pytest

from simulator.outbox import Letter, Outbox


def letter(gateway: str, payload: str) -> Letter:
    return Letter("a/topic", payload.encode(), 3, gateway, retain=False)


def sent(outbox: Outbox) -> list[str]:
    found = []
    while (following := outbox.next()) is not None:
        found.append(following[1].payload.decode())
    return found


def test_messages_are_sent_once_in_order_and_again_on_a_new_connection() -> None:
    outbox = Outbox()
    for name in "abc":
        outbox.put(letter("tern", name))
    assert sent(outbox) == ["a", "b", "c"]
    assert sent(outbox) == []
    outbox.begin_again()
    assert sent(outbox) == ["a", "b", "c"]


def test_what_is_acknowledged_is_let_go_with_its_weight_and_the_rest_is_sent_again() -> None:
    outbox = Outbox(store=5)
    for name in "abc":
        outbox.put(letter("tern", name))
    first = outbox.next()
    assert first is not None
    assert outbox.acknowledge(first[0]) == 3
    assert outbox.acknowledge(first[0]) == 0
    assert len(outbox) == 2
    outbox.begin_again()
    assert sent(outbox) == ["b", "c"]


def test_a_full_store_drops_its_gateways_oldest_message_and_no_other_gateways() -> None:
    outbox = Outbox(store=2)
    for gateway, name in (("tern", "t1"), ("gull", "g1"), ("tern", "t2"), ("tern", "t3"), ("tern", "t4")):
        outbox.put(letter(gateway, name))
    assert outbox.is_full("tern")
    assert not outbox.is_full("gull")
    assert sent(outbox) == ["g1", "t3", "t4"]
    assert outbox.dropped == 2
    assert len(outbox) == 3


def test_an_acknowledgement_of_what_was_dropped_meanwhile_counts_for_nothing() -> None:
    outbox = Outbox(store=1)
    outbox.put(letter("tern", "t1"))
    under_way = outbox.next()
    assert under_way is not None
    outbox.put(letter("tern", "t2"))
    assert outbox.acknowledge(under_way[0]) == 0
    assert len(outbox) == 1


def test_what_no_gateway_sends_is_kept_without_bound() -> None:
    outbox = Outbox(store=1)
    for n in range(50):
        outbox.put(letter("", str(n)))
    assert sent(outbox) == [str(n) for n in range(50)]
    assert not outbox.is_full("")


def test_a_store_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="store is 0; a gateway keeps at least 1 message"):
        Outbox(store=0)

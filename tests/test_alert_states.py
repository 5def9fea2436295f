"""The whole table of an alert's states: every state with every trigger, as it is drawn in ISA-18.2 and IEC 62682.

One line a state, one letter a trigger in the order of `TRIGGERS`; ``-`` is refused. Letters are the states: ``.``
normal, ``U`` unacknowledged, ``A`` acknowledged, ``R`` returned unacknowledged, ``L`` latched, ``S`` shelved, ``P``
suppressed, ``O`` out of service.
"""

import pytest

from monitor.alert_states import TABLE, Trigger, step
from monitor.model.scale import AlertState

T = Trigger
LETTERS = dict(zip(".UARLSPO", AlertState, strict=True))
TRIGGERS = (
    T.STANDS,
    T.RISES,
    T.CLEARS,
    T.CLEARS_UNCONFIRMED,
    T.ACKNOWLEDGE,
    T.CONFIRM,
    T.HAND_OVER,
    T.ACCEPT,
    T.SHELVE,
    T.SUPPRESS,
    T.TAKE_OUT,
    T.BACK,
    T.BACK_CLEARED,
    T.BACK_UNCONFIRMED,
)
DRAWN = {
    #                               condition  people  aside  back
    AlertState.NORMAL: "U---" + "----" + "---" + "---",
    AlertState.UNACKNOWLEDGED: "-URL" + "AAUA" + "SPO" + "---",
    AlertState.ACKNOWLEDGED: "-U.L" + "-AAA" + "SPO" + "---",
    AlertState.RETURNED_UNACKNOWLEDGED: "U---" + "..R." + "S-O" + "---",
    AlertState.LATCHED: "U---" + "L.LL" + "S-O" + "---",
    AlertState.SHELVED: "SSSS" + "-SSS" + "S-O" + "U.L",
    AlertState.SUPPRESSED: "PPPP" + "-PPP" + "-PO" + "U.L",
    AlertState.OUT_OF_SERVICE: "OOOO" + "-OOO" + "---" + "U.L",
}
PAIRS = [
    (state, trigger, letter) for state, line in DRAWN.items() for trigger, letter in zip(TRIGGERS, line, strict=True)
]


def test_the_table_above_has_every_state_and_every_trigger() -> None:
    assert set(DRAWN) == set(AlertState) == set(TABLE)
    assert set(TRIGGERS) == set(Trigger)
    assert len(PAIRS) == len(AlertState) * len(Trigger)


@pytest.mark.parametrize(("state", "trigger", "letter"), PAIRS, ids=[f"{s}: {t}" for s, t, _ in PAIRS])
def test_every_state_with_every_trigger_goes_where_it_is_drawn(
    state: AlertState, trigger: Trigger, letter: str
) -> None:
    after, refused = step(state, trigger)
    assert after is LETTERS.get(letter)
    assert bool(refused) is (letter == "-")


@pytest.mark.parametrize(("state", "trigger"), [(s, t) for s, t, letter in PAIRS if letter == "-"])
def test_what_is_refused_is_refused_in_words_that_name_no_state(state: AlertState, trigger: Trigger) -> None:
    # The words go to whoever asked, and pages carry no ISA state names.
    words = step(state, trigger).refused
    assert len(words.split()) >= 3
    names = {"normal", "unacknowledged", "acknowledged", "latched", "shelved", "suppressed", "out of service"}
    assert not any(name in words for name in names)


def test_nothing_that_stands_ends_but_by_people_and_time() -> None:
    # The only ways to normal: acknowledged and cleared; returned and seen; confirmed; put aside and cleared there.
    ways = {(state, trigger) for state, trigger, letter in PAIRS if letter == "."}
    assert ways == {
        (AlertState.ACKNOWLEDGED, T.CLEARS),
        (AlertState.RETURNED_UNACKNOWLEDGED, T.ACKNOWLEDGE),
        (AlertState.RETURNED_UNACKNOWLEDGED, T.CONFIRM),
        (AlertState.RETURNED_UNACKNOWLEDGED, T.ACCEPT),
        (AlertState.LATCHED, T.CONFIRM),
        (AlertState.SHELVED, T.BACK_CLEARED),
        (AlertState.SUPPRESSED, T.BACK_CLEARED),
        (AlertState.OUT_OF_SERVICE, T.BACK_CLEARED),
    }

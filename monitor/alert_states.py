"""The states of an alert and what moves it from one to another: a table, and nothing else.

The states are those of ANSI/ISA-18.2-2016 and IEC 62682 (the figure of the alarm's states, from memory), by the
standard's names: normal, unacknowledged, acknowledged, returned to normal unacknowledged, latched, shelved, suppressed
by design, out of service. The standard draws latched as two states, acknowledged or not; here it is one, and the
alert's ``acknowledged_ms`` tells. What is put aside is still followed: its condition may clear and stand again there.

What is not in the table is refused with a reason in words, for whoever asked.
"""

from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from monitor.model.scale import AlertState


class Trigger(StrEnum):
    """What may move an alert. Where the condition decides, there is a trigger for each way it can be."""

    STANDS = "its condition stands"
    RISES = "its priority rises"
    CLEARS = "its condition clears"
    CLEARS_UNCONFIRMED = "its condition clears, and somebody has still to go aboard"
    ACKNOWLEDGE = "acknowledge"
    CONFIRM = "confirm"
    HAND_OVER = "hand over"
    ACCEPT = "accept"
    SHELVE = "shelve"
    SUPPRESS = "suppress"
    TAKE_OUT = "take out"
    BACK = "back, and its condition stands"
    BACK_CLEARED = "back, and its condition has cleared"
    BACK_UNCONFIRMED = "back, its condition has cleared, and somebody has still to go aboard"


class Step(NamedTuple):
    """What a trigger does: the state after it, or None and the reason why it does nothing."""

    state: AlertState | None
    refused: str = ""


_S, _T = AlertState, Trigger

# Of an alert that is told: who may put it aside, and into whose hands it goes.
_TOLD = {_T.SHELVE: _S.SHELVED, _T.TAKE_OUT: _S.OUT_OF_SERVICE}


def _aside(state: AlertState) -> dict[Trigger, AlertState]:
    """Give what is the same of all that is put aside: it is followed there, and comes back as its condition is."""
    followed = (_T.STANDS, _T.RISES, _T.CLEARS, _T.CLEARS_UNCONFIRMED, _T.CONFIRM, _T.HAND_OVER, _T.ACCEPT)
    back = {
        _T.BACK: _S.UNACKNOWLEDGED,
        _T.BACK_CLEARED: _S.NORMAL,
        _T.BACK_UNCONFIRMED: _S.LATCHED,
    }
    return dict.fromkeys(followed, state) | back


TABLE: MappingProxyType[AlertState, dict[Trigger, AlertState]] = MappingProxyType(
    {
        _S.NORMAL: {_T.STANDS: _S.UNACKNOWLEDGED},
        _S.UNACKNOWLEDGED: _TOLD
        | {
            _T.RISES: _S.UNACKNOWLEDGED,
            _T.CLEARS: _S.RETURNED_UNACKNOWLEDGED,
            _T.CLEARS_UNCONFIRMED: _S.LATCHED,
            _T.ACKNOWLEDGE: _S.ACKNOWLEDGED,
            _T.CONFIRM: _S.ACKNOWLEDGED,
            _T.HAND_OVER: _S.UNACKNOWLEDGED,
            _T.ACCEPT: _S.ACKNOWLEDGED,
            _T.SUPPRESS: _S.SUPPRESSED,
        },
        _S.ACKNOWLEDGED: _TOLD
        | {
            _T.RISES: _S.UNACKNOWLEDGED,
            _T.CLEARS: _S.NORMAL,
            _T.CLEARS_UNCONFIRMED: _S.LATCHED,
            _T.CONFIRM: _S.ACKNOWLEDGED,
            _T.HAND_OVER: _S.ACKNOWLEDGED,
            _T.ACCEPT: _S.ACKNOWLEDGED,
            _T.SUPPRESS: _S.SUPPRESSED,
        },
        _S.RETURNED_UNACKNOWLEDGED: _TOLD
        | {
            _T.STANDS: _S.UNACKNOWLEDGED,
            _T.ACKNOWLEDGE: _S.NORMAL,
            _T.CONFIRM: _S.NORMAL,
            _T.HAND_OVER: _S.RETURNED_UNACKNOWLEDGED,
            _T.ACCEPT: _S.NORMAL,
        },
        _S.LATCHED: _TOLD
        | {
            _T.STANDS: _S.UNACKNOWLEDGED,
            _T.ACKNOWLEDGE: _S.LATCHED,
            _T.CONFIRM: _S.NORMAL,
            _T.HAND_OVER: _S.LATCHED,
            _T.ACCEPT: _S.LATCHED,
        },
        _S.SHELVED: _aside(_S.SHELVED) | _TOLD,
        _S.SUPPRESSED: _aside(_S.SUPPRESSED) | {_T.SUPPRESS: _S.SUPPRESSED, _T.TAKE_OUT: _S.OUT_OF_SERVICE},
        _S.OUT_OF_SERVICE: _aside(_S.OUT_OF_SERVICE),
    }
)
"""Every move there is. A pair that is not here is refused."""

_BACK = (_T.BACK, _T.BACK_CLEARED, _T.BACK_UNCONFIRMED)
_CLEARED = (_S.RETURNED_UNACKNOWLEDGED, _S.LATCHED)

_WHY = {
    **{(state, trigger): "it is not put aside" for state in TABLE for trigger in _BACK},
    **{(state, _T.STANDS): "it stands already" for state in (_S.UNACKNOWLEDGED, _S.ACKNOWLEDGED)},
    **{(state, _T.RISES): "it has cleared, and rises only once it stands again" for state in _CLEARED},
    **{(state, t): "it has cleared already" for state in _CLEARED for t in (_T.CLEARS, _T.CLEARS_UNCONFIRMED)},
    **{(state, _T.SUPPRESS): "it has cleared, and waits to be seen" for state in _CLEARED},
    (_S.ACKNOWLEDGED, _T.ACKNOWLEDGE): "somebody has seen it already",
    (_S.SHELVED, _T.ACKNOWLEDGE): "it is put aside: bring it back first",
    (_S.SHELVED, _T.SUPPRESS): "it is put aside already",
    (_S.SUPPRESSED, _T.ACKNOWLEDGE): "it is put aside while something is done aboard: say that this is over first",
    (_S.SUPPRESSED, _T.SHELVE): "it is put aside while something is done aboard: say that this is over first",
    (_S.OUT_OF_SERVICE, _T.ACKNOWLEDGE): "a manager has put it aside: a manager has to bring it back first",
    (_S.OUT_OF_SERVICE, _T.SHELVE): "a manager has put it aside already",
    (_S.OUT_OF_SERVICE, _T.SUPPRESS): "a manager has put it aside already",
    (_S.OUT_OF_SERVICE, _T.TAKE_OUT): "a manager has put it aside already",
}


def step(state: AlertState, trigger: Trigger) -> Step:
    """Say where a trigger takes an alert, or why it does nothing.

    >>> step(AlertState.UNACKNOWLEDGED, Trigger.ACKNOWLEDGE).state
    <AlertState.ACKNOWLEDGED: 'acknowledged'>
    >>> step(AlertState.NORMAL, Trigger.SHELVE).refused
    'it has ended'
    """
    after = TABLE[state].get(trigger)
    if after is not None:
        return Step(after)
    return Step(None, "it has ended" if state is AlertState.NORMAL else _WHY[state, trigger])

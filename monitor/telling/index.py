"""What is counted of each call, so that one event among thousands of alerts costs as much as one among three.

Nothing of it is kept: it is made of the state at a start.
"""

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from monitor.model.call import CallKind, FleetCause
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall, State


@dataclass(slots=True)
class Tally:
    """What is counted of a call's open alerts.

    Attributes:
        members: the alerts, by id.
        in_force: how many of them are in force.
        told: how many of those are told of.
        wanting: how many of those nobody has.
        holders: of how many somebody has seen it, by name.
    """

    members: dict[str, Standing] = field(default_factory=dict)
    in_force: int = 0
    told: int = 0
    wanting: int = 0
    holders: Counter[str] = field(default_factory=Counter)

    def count(self, alert: Standing, by: int) -> None:
        """Count an alert in (1) or out (-1)."""
        self.in_force += by * alert.in_force
        self.told += by * alert.is_told
        self.wanting += by * alert.wants_somebody
        if alert.is_told and alert.seen_by is not None:
            self.holders[alert.seen_by] += by
            if not self.holders[alert.seen_by]:
                del self.holders[alert.seen_by]


class Index:
    """A state, and where in it to find what.

    Args:
        state: the state; what is counted of its alerts changes only within `changing`, its calls only by `open` and
            `close`.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        self._opened: list[OpenCall] = []
        self._left: dict[str, OpenCall] = {}
        self._changed = set(state.alerts)
        self._tallies: dict[str, Tally] = {}
        self._of_vessel: dict[str, str] = {}
        self._of_fleet: dict[str, list[str]] = {}
        self._of_cause: dict[FleetCause, dict[str, Standing]] = {}
        for call in state.calls.values():
            self._add(call)
        for alert in state.alerts.values():
            self._enter(alert)

    def tally(self, call: OpenCall) -> Tally:
        """Give what is counted of a call."""
        return self._tallies[call.id]

    def members(self, call: OpenCall) -> list[Standing]:
        """Give the open alerts of a call."""
        tally = self._tallies.get(call.id)
        return [] if tally is None else list(tally.members.values())

    def of_vessel(self, vessel: str) -> OpenCall | None:
        """Give a vessel's own call, None where she has none."""
        return self.state.calls.get(self._of_vessel.get(vessel, ""))

    def of_fleet(self, cause: FleetCause) -> Iterator[OpenCall]:
        """Give the fleet's calls of a cause, the oldest first."""
        return (self.state.calls[key] for key in self._of_fleet.get(cause.value, ()))

    def of_cause(self, cause: FleetCause) -> Iterator[Standing]:
        """Give the alerts that may be of a cause."""
        return iter(self._of_cause.get(cause, {}).values())

    def open(self, call: OpenCall) -> None:
        """Take in a call that opens."""
        self.state.calls[call.id] = call
        self._opened.append(call)
        self._add(call)

    def take_opened(self) -> list[OpenCall]:
        """Give the calls that have opened since this was asked last."""
        opened, self._opened = self._opened, []
        return opened

    def leave(self, call: OpenCall) -> None:
        """Note that an alert of a call is told in another one now."""
        self._left[call.id] = call

    def take_left(self) -> list[OpenCall]:
        """Give the calls of which this was noted since this was asked last."""
        left, self._left = self._left, {}
        return list(left.values())

    def close(self, call: OpenCall) -> None:
        """Let go of a call without alerts."""
        del self.state.calls[call.id]
        del self._tallies[call.id]
        if call.is_fleet:
            self._of_fleet[call.about].remove(call.id)
        elif self._of_vessel.get(call.about) == call.id:
            del self._of_vessel[call.about]

    def touch(self, call: OpenCall) -> None:
        """Note that whatever is kept of a call's alerts may have changed, though nothing that is counted."""
        self._changed.update(self._tallies[call.id].members)

    def take_changed(self) -> set[str]:
        """Give the ids of the alerts that may have changed since this was asked last, those that ended among them."""
        changed, self._changed = self._changed, set()
        return changed

    @contextmanager
    def changing(self, alert: Standing) -> Iterator[None]:
        """Have an alert counted as it is after the block, in the call that it is in then."""
        self._changed.add(alert.id)
        before = self._tallies.get(alert.call)
        if before is not None:
            before.count(alert, -1)
        try:
            yield
        finally:
            after = self._tallies.get(alert.call)
            if before is not None and before is not after:
                before.members.pop(alert.id)
            if after is not None:
                after.members[alert.id] = alert
                after.count(alert, 1)

    def add(self, alert: Standing) -> None:
        """Take in an alert that opens."""
        self.state.alerts[alert.id] = alert
        self._changed.add(alert.id)
        self._enter(alert)

    def remove(self, alert: Standing) -> None:
        """Let go of an alert that has ended."""
        self._leave(alert)
        del self.state.alerts[alert.id]
        self._changed.add(alert.id)

    def _add(self, call: OpenCall) -> None:
        self._tallies[call.id] = Tally()
        if call.kind is CallKind.FLEET:
            self._of_fleet.setdefault(call.about, []).append(call.id)
        else:
            self._of_vessel.setdefault(call.about, call.id)

    def _enter(self, alert: Standing) -> None:
        cause = cause_of(alert)
        if cause is not None:
            self._of_cause.setdefault(cause, {})[alert.id] = alert
        tally = self._tallies.get(alert.call)
        if tally is not None:
            tally.members[alert.id] = alert
            tally.count(alert, 1)

    def _leave(self, alert: Standing) -> None:
        cause = cause_of(alert)
        if cause is not None:
            self._of_cause[cause].pop(alert.id, None)
        tally = self._tallies.get(alert.call)
        if tally is not None:
            tally.members.pop(alert.id)
            tally.count(alert, -1)


def cause_of(alert: Standing) -> FleetCause | None:
    """Say which trouble of many boats an alert may be of, None where it is hers alone."""
    match alert.rule, alert.subject:
        case "frost", _:
            return FleetCause.FROST
        case "bilge", _:
            return FleetCause.WATER
        case "power", "shore-power":
            return FleetCause.POWER
        case "silence", "gateway":
            return FleetCause.SILENCE
    return None

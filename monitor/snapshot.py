"""The watch's state as a snapshot: written as JSON, read back, and what of it an older program wrote otherwise.

A snapshot carries the version of everything whose meaning may change. What does not match is named, so that the caller
folds it again from the lay-up on.
"""

import json
from typing import Any

from pydantic import TypeAdapter, ValidationError

from monitor import quality
from monitor.alerting import known_since
from monitor.rules.rule import Rule
from monitor.watch import Watch
from monitor.watch_state import WatchState

FORM = 3

_state: TypeAdapter[WatchState] = TypeAdapter(WatchState)
_rule_states: dict[type[Any], TypeAdapter[Any]] = {}


class SnapshotError(Exception):
    """A snapshot that this program cannot use: the watch is folded again from the lay-up on."""


def write_snapshot(watch: Watch) -> str:
    """Write a watch's state as JSON, with the versions it was made under."""
    body = _state.dump_python(watch.state, mode="json")
    versions = {rule.name: rule.version for rule in watch.rules}
    return json.dumps({"form": FORM, "quality": quality.VERSION, "rules": versions, "state": body})


def read_snapshot(watch: Watch, text: str) -> tuple[type[Rule[Any]], ...]:
    """Put a snapshot's state into a watch made for the same vessel.

    Args:
        watch: a watch bound to the record that was valid at the snapshot; its state is replaced.
        text: what `write_snapshot` gave.

    Returns:
        The rules whose version has changed, or that the snapshot does not know: their state in the watch is empty.

    Raises:
        SnapshotError: where the snapshot as a whole cannot be used.
    """
    try:
        document = json.loads(text)
        if document["form"] != FORM or document["quality"] != quality.VERSION:
            raise SnapshotError(f"made by form {document['form']}, quality {document['quality']}")
        state = _state.validate_python(document["state"])
        _fill_in_known_water(state, document["state"])
    except (ValueError, KeyError, TypeError, ValidationError) as error:
        raise SnapshotError(f"cannot be read: {error}") from error
    names = {rule.name for rule in watch.rules}
    for kept in (state.rules, state.due, state.unknown, state.stumbles):
        for gone in [name for name in kept if name not in names]:
            del kept[gone]  # its tracks stay: the watch ends their alerts
    stale = []
    for rule in watch.rules:
        # A rule that had failed is folded again: the program may have been mended since.
        if document["rules"].get(rule.name) == rule.version and rule.name not in state.stumbles:
            try:
                state.rules[rule.name] = _rule_adapter(rule).validate_python(state.rules[rule.name])
            except (KeyError, ValidationError) as error:
                raise SnapshotError(f"state of rule {rule.name} cannot be read: {error}") from error
        else:
            state.rules[rule.name] = rule.state_type()
            state.stumbles.pop(rule.name, None)
            stale.append(type(rule))
    watch.resume(state)
    return tuple(stale)


def _fill_in_known_water(state: WatchState, written: dict[str, Any]) -> None:
    """Fill in what was known of water where an older program kept nothing of it: else what was put aside rings once."""
    for rule, tracks in state.tracks.items():
        for subject, track in tracks.items():
            if track.alert is not None and "known_water" not in written["tracks"][rule][subject]:
                track.known_water = known_since(track.alert)


def _rule_adapter(rule: Rule[Any]) -> TypeAdapter[Any]:
    adapter = _rule_states.get(rule.state_type)
    if adapter is None:
        adapter = _rule_states[rule.state_type] = TypeAdapter(rule.state_type)
    return adapter

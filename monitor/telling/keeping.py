"""The state as JSON: written with each batch, of its alerts only those anew that have changed."""

import json

from pydantic import TypeAdapter

from monitor.telling.index import Index
from monitor.telling.standing import Standing
from monitor.telling.state import State

_STATE = TypeAdapter(State)
_ALERT = TypeAdapter(Standing)


class Keeper:
    """Writes the state of an index."""

    def __init__(self) -> None:
        self._alerts: dict[str, str] = {}

    def write(self, index: Index) -> str:
        """Give the state as JSON; what has its usual value is left out."""
        state = index.state
        for key in index.take_changed():
            alert = state.alerts.get(key)
            if alert is None:
                self._alerts.pop(key, None)
            else:
                written = _ALERT.dump_json(alert, exclude_defaults=True).decode()
                self._alerts[key] = f"{json.dumps(key)}:{written}"
        alerts = ",".join(self._alerts[key] for key in state.alerts)
        rest = _STATE.dump_json(state, exclude_defaults=True, exclude={"alerts"}).decode()
        return f'{{"alerts":{{{alerts}}}{"," if len(rest) > len("{}") else ""}{rest[1:]}'


def read_state(text: str) -> State:
    """Read what a `Keeper` wrote."""
    return _STATE.validate_json(text)

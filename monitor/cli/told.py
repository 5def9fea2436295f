"""How long before each harm somebody was told of it: by a warning or an alarm on its subject that still stood."""

from collections.abc import Sequence

from monitor.cli.heard import Heard
from monitor.model.vessel import Vessel
from simulator.score.episodes import Episode
from simulator.score.judge import told_of
from simulator.score.stretches import stretches_of
from simulator.truth import Harm, HarmKind

RULES = {
    HarmKind.FREEZES: ("frost",),
    HarmKind.FROZEN: ("frost",),
    HarmKind.STARTER: ("bilge",),
    HarmKind.TERMINALS: ("bilge",),
    HarmKind.SOLE: ("bilge",),
    HarmKind.HALF: ("battery",),
    HarmKind.NO_PUMP: ("battery",),
    HarmKind.BATTERY_FROZEN: ("battery", "frost"),
    HarmKind.MOULD: ("damp",),
    HarmKind.NOT_HEARD: ("silence",),
}
"""The rules that tell of a harm on its subject. A battery that wants a charge is no harm yet, and nobody is asked."""

_RUNS_DOWN = {HarmKind.HALF, HarmKind.NO_PUMP}


class Telling:
    """What of one vessel's harms was told in time.

    Args:
        record: her lay-up record.
        heard: what the watch said.
        begins_ms: beginning of the winter, ms UTC.
        ends_ms: its end.
    """

    def __init__(self, record: Vessel, heard: Heard, begins_ms: int, ends_ms: int) -> None:
        self._record = record
        self._begins_ms = begins_ms
        self._stretches = stretches_of(heard.warning.get(record.id, ()), heard.keys(), ends_ms)

    def before_s(self, harm: Harm) -> float | None:
        """Give how long before a harm it was told, s; None where it was not, or where nobody asks for it."""
        keys = self.keys(harm)
        if not keys:
            return None
        episode = Episode(
            row=harm.kind.value,
            vessel=harm.vessel,
            keys=keys,
            begins_ms=self._begins_ms,
            due_ms=harm.at_ms,
            until_ms=harm.at_ms,
        )
        told = told_of(episode, self._stretches)
        return told.seconds if told.caught else None

    def words(self, harms: Sequence[Harm]) -> str:
        """Say of harms of one spell whether they were told: of the first how long before, of the others how many."""
        first = harms[0]
        if not self.keys(first):
            return ""
        before = self.before_s(first)
        said = "NOT TOLD" if before is None else f"told {lasting(before)} before"
        if before is None and first.at_ms <= self._begins_ms + 3_600_000:
            said += " (so from the beginning)"
        many = len(harms)
        if many > 1:
            said += f"; {sum(self.before_s(h) is not None for h in harms)} of {many} told"
        return said

    def keys(self, harm: Harm) -> tuple[tuple[str, str], ...]:
        """Give rule and subject of the alerts that tell of a harm; none where nobody asks for it."""
        keys = [(rule, harm.subject) for rule in RULES.get(harm.kind, ())]
        if harm.kind in _RUNS_DOWN and self._record.shore_power.on:
            # While a loss of shore power stands, it speaks for the batteries that it leaves without charge.
            charged = any(b.id == harm.subject and b.charger for b in self._record.batteries)
            keys += [("power", "shore-power")] if charged else []
        return tuple(keys)


def lasting(seconds: float) -> str:
    """Say how long something lasts, as one reads it at a glance.

    >>> lasting(31 * 3600), lasting(90), lasting(12 * 86400)
    ('31 h', '2 min', '12 days')
    """
    if seconds < 2 * 3600:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.0f} h" if seconds < 3 * 86_400 else f"{seconds / 86_400:.0f} days"

"""Power: is the shore power that she was left on still there?

A mains sensor tells at once. Where there is none, or it is not heard, power is inferred to be gone when several things
it fed stop within hours of each other; one of them alone is told by its own rule. Planned cuts of the yard are no loss,
unless power stays away after them. What follows from the loss is taken under this one alert.
"""

from dataclasses import dataclass, field

from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.vessel import Mode, Vessel
from monitor.rules.last_word import LastWord, last_word
from monitor.rules.mains import Mains, mains_of
from monitor.rules.power_cuts import counts_from_ms
from monitor.rules.power_findings import RULE, lost, not_known
from monitor.rules.power_frost import ColdAhead, cold_ahead, unharmed_above_degc
from monitor.rules.power_limits import LIMITS
from monitor.rules.power_over import over
from monitor.rules.power_signs import (
    CHARGER,
    ChargerSign,
    Signs,
    charger_volts,
    dried_humidity,
    heated_warmth,
    infer,
    proven_until_ms,
    stopped,
)
from monitor.rules.rule import HOUR_MS, Changes, Rule, earliest

_JUDGED = {Mode.ASHORE_BUNG_IN, Mode.ASHORE_BUNG_OUT, Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT}
_STALE_INTERVALS = 3
_NOMINAL_V = 12.0


@dataclass(slots=True)
class PowerState:
    """What the rule keeps.

    Attributes:
        mains: the mains sensor's last word.
        gone_ms: since when it says that power is gone.
        outside: the last temperature outside.
        signs: what stopped, where no sensor sees the mains.
        frost: whether frost is held to make haste.
        told: what was told last, until its alert has had time to clear.
    """

    mains: Seen | None = None
    gone_ms: int | None = None
    outside: Seen | None = None
    signs: Signs = field(default_factory=Signs)
    frost: bool = False
    told: LastWord | None = None


@dataclass(frozen=True, slots=True)
class Loss:
    """A loss of power: since when, by which word of the mains sensor (None: inferred), and from when it counts."""

    since_ms: int
    seen: Seen | None
    counts_ms: int
    cut_end_ms: int | None


class Power(Rule[PowerState]):
    """Shore power that was left on."""

    name = RULE
    version = 2
    state_type = PowerState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.watched = record.shore_power.on and record.mode in _JUDGED
        self.unharmed_degc = unharmed_above_degc(record)
        self.mains_sensor = record.shore_power.mains_sensor
        mains = None if self.mains_sensor is None else record.sensor(self.mains_sensor)
        interval_ms = 0 if mains is None else round(mains.interval_s * 1000)
        self.mains_stale_ms = max(LIMITS.ms("mains_stale"), _STALE_INTERVALS * interval_ms)
        self.chargers = {
            b.voltage_sensor: (b.id, _NOMINAL_V / b.nominal_v)
            for b in record.batteries
            if b.charger and b.voltage_sensor is not None
        }
        self.humidity = self._dried(record)
        self.warmth = self._heated(record)
        wanted = {self.mains_sensor, self.humidity, self.warmth, record.outside_sensor, *self.chargers}
        self.sensors = frozenset(s for s in wanted if s is not None) if record.shore_power.on else frozenset()

    @staticmethod
    def _dried(record: Vessel) -> str | None:
        machine = record.dehumidifier
        if machine is None or not machine.running:
            return None
        return next((s.humidity_sensor for s in record.spaces if s.id == machine.space), None)

    @staticmethod
    def _heated(record: Vessel) -> str | None:
        if record.heater is None or not record.heater.on or record.outside_sensor is None:
            return None
        inside = [s.temperature_sensor for s in record.spaces] + [s.sensor for s in record.liquid_systems if s.sensor]
        return next((s for s in inside if s != record.outside_sensor), None)

    def see(self, state: PowerState, reading: Reading) -> Changes:
        """Take the mains in, or what stops without it."""
        sensor, at_ms, value, signs = reading.sensor, reading.event_ms, reading.value, state.signs
        if sensor == self.mains_sensor:
            state.mains = Seen(sensor, at_ms, value)
            gone_ms = state.gone_ms
            if mains_of(state.mains) is Mains.THERE:
                state.gone_ms = None
            elif gone_ms is None:
                state.gone_ms = at_ms
            return Changes.WHAT_IS_SAID if state.gone_ms == gone_ms else Changes.ANYTHING
        if sensor == self.record.outside_sensor:
            state.outside = Seen(sensor, at_ms, value)
            return Changes.NOTHING if state.gone_ms is None and signs.gone_ms is None else Changes.WHAT_IS_SAID
        charged = self.chargers.get(sensor)
        if charged is not None:
            return self._charged(signs, *charged, at_ms, value)
        if sensor == self.humidity:
            off_ms = signs.dry.off_ms
            dried_humidity(signs.dry, at_ms, value)
            return _inferred(signs) if signs.dry.off_ms != off_ms else Changes.NOTHING
        if not self._outside_heard(state, at_ms) or state.outside is None:
            return Changes.NOTHING
        off_ms = signs.warm.off_ms
        heated_warmth(signs.warm, at_ms, value - state.outside.value)
        return _inferred(signs) if signs.warm.off_ms != off_ms else Changes.NOTHING

    def judge(self, state: PowerState, now_ms: int) -> list[Finding]:
        """Say whether shore power is gone, and whether frost makes haste."""
        if not self.watched:
            return []
        loss = self._loss(state, now_ms)
        if loss is None:
            state.frost = False
            if self._there_until_ms(state, now_ms) is not None:
                return self._gone(state, now_ms)
            return [not_known(self.record, state.mains, charger_stopped=CHARGER in stopped(state.signs))]
        if now_ms < loss.counts_ms:
            # It went on purpose: what was told before is no longer so, and yet it is not back.
            state.told = None
            return []
        finding = lost(
            self.record,
            since_ms=loss.since_ms,
            cut_end_ms=loss.cut_end_ms,
            seen=loss.seen,
            frost=self._frost(state, now_ms),
            now_ms=now_ms,
        )
        state.told = last_word(finding)
        return [finding]

    def next_look(self, state: PowerState, now_ms: int) -> int | None:
        """Look again when a planned cut is long over, when no word proves power any more, and each hour for frost."""
        if not self.watched:
            return None
        loss = self._loss(state, now_ms)
        if loss is None:
            there_ms = self._there_until_ms(state, now_ms)
            over_ms = None if state.told is None else state.told.ends_ms
            ends = (None if there_ms is None else there_ms + 1, over_ms)
            return earliest([t for t in ends if t is not None and t > now_ms])
        hourly = None if self.unharmed_degc is None else now_ms + HOUR_MS
        return earliest([t for t in (loss.counts_ms, hourly) if t is not None and t > now_ms])

    def _gone(self, state: PowerState, now_ms: int) -> list[Finding]:
        """Say that the loss that was told last is over, for as long as its alert waits."""
        told = state.told
        if told is None:
            return []
        if not told.waits(now_ms):
            state.told = None
            return []
        return [over(self.record, told, state.mains if self._mains_heard(state, now_ms) else None)]

    @staticmethod
    def _charged(signs: Signs, battery: str, scale: float, at_ms: int, value: float) -> Changes:
        sign = signs.chargers.setdefault(battery, ChargerSign())
        off_ms, floated = sign.off_ms, sign.float_v is not None
        charger_volts(sign, at_ms, value * scale)
        floats = sign.float_v is not None
        if sign.off_ms != off_ms or floats is not floated:
            infer(signs)
            return Changes.ANYTHING
        # One that floats proves for longer that power is there, which may end that nobody knew.
        return Changes.WHAT_IS_SAID if floats and off_ms is None else Changes.NOTHING

    def _loss(self, state: PowerState, now_ms: int) -> Loss | None:
        if state.gone_ms is not None:
            since_ms, seen = state.gone_ms, state.mains
        elif state.signs.gone_ms is not None and not self._mains_heard(state, now_ms):
            since_ms, seen = state.signs.gone_ms, None
        else:
            return None
        back_ms = LIMITS.ms("back_within") + (0 if seen is not None else LIMITS.ms("inferred_back"))
        counts_ms, cut_end_ms = counts_from_ms(
            self.surroundings.calendar, since_ms, slack_ms=LIMITS.ms("cut_slack"), back_within_ms=back_ms
        )
        return Loss(since_ms, seen, counts_ms, cut_end_ms)

    def _frost(self, state: PowerState, now_ms: int) -> ColdAhead | None:
        if self.unharmed_degc is None:
            return None
        ahead = cold_ahead(self.surroundings.forecast, state.outside, now_ms, self.unharmed_degc)
        if ahead is not None:
            state.frost = ahead.degc <= self.unharmed_degc + (LIMITS["frost_deadband"] if state.frost else 0.0)
        return ahead if state.frost else None

    def _there_until_ms(self, state: PowerState, now_ms: int) -> int | None:
        """Say until when it is known that power is there, None where it is not known now."""
        if state.mains is not None and self._mains_heard(state, now_ms):
            return state.mains.at_ms + self.mains_stale_ms
        proven_ms = proven_until_ms(state.signs)
        return proven_ms if proven_ms is not None and now_ms <= proven_ms else None

    def _mains_heard(self, state: PowerState, now_ms: int) -> bool:
        return state.mains is not None and now_ms - state.mains.at_ms <= self.mains_stale_ms

    @staticmethod
    def _outside_heard(state: PowerState, now_ms: int) -> bool:
        return state.outside is not None and now_ms - state.outside.at_ms <= LIMITS.ms("outside_stale")


def _inferred(signs: Signs) -> Changes:
    before_ms = signs.gone_ms
    infer(signs)
    return Changes.NOTHING if signs.gone_ms == before_ms else Changes.ANYTHING

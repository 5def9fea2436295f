"""Frost over whole simulated winters, whose physics are their own: told in working time, before it freezes."""

from dataclasses import dataclass, field
from random import Random

import pytest

from monitor.model.alert import AlertChange
from monitor.model.inputs import CalendarVersion, Clock, ForecastVersion
from monitor.model.parcel import ClockMessage
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.rules.frost import Frost
from monitor.watch import Watch
from simulator.plan import WinterPlan
from simulator.weather import Weather
from simulator.weather_plan import GeneratedWeather
from simulator.winter import Winter
from simulator.yard import yard_plan, yard_vessels

HOUR_MS = 3_600_000
NEW_YORK = YardCalendar(zone="America/New_York")
# What can freeze there, its thermometer and its point. The simulator's thermometers err by half a kelvin: a kelvin
# below the point it has truly frozen.
WATCHED = {"barley-moon": ("fresh-water", "galley", 0.0), "copper-wren": ("closed-cooling", "engine-space", -4.0)}
SOUND = {"quiet-tuesday", "oat-harvest", "morning-loaf", "nettlewing"}
ABOARD = SOUND | set(WATCHED)
GRACE_MS = 24 * HOUR_MS


@dataclass
class Night:
    """One boat's winter: when her system froze, and what stood in the alert at each hour."""

    standing: dict[int, Priority | None] = field(default_factory=dict)
    froze_ms: list[int] = field(default_factory=list)

    def told_by_notice(self, froze_ms: int) -> bool:
        """Whether at least a warning stood at the last notice time before the freeze."""
        day_before = froze_ms - 7 * 24 * HOUR_MS
        last = max(t for t in notices(day_before) if t <= froze_ms)
        stood = self.standing.get(last // HOUR_MS * HOUR_MS)
        return stood is not None and stood >= Priority.WARNING


def notices(from_ms: int) -> list[int]:
    times = NEW_YORK.notice_times(from_ms)
    return [next(times) for _ in range(8)]


def foretold(weather: Weather, now_ms: int, chance: Random) -> Forecast:
    """The weather to come, out by an error that grows with the days ahead as forecasts' errors do."""
    out_by = chance.gauss(0.0, 1.0)
    hours = range(now_ms, min(now_ms + 96 * HOUR_MS, weather.to_ms) + 1, HOUR_MS)
    return Forecast.of(
        now_ms, ((at, weather.at(at).outside_degc + out_by * (1.5 + 0.4 * (at - now_ms) / 86_400_000)) for at in hours)
    )


def lived(plan: WinterPlan, *, forecast: bool) -> dict[str, Night]:
    """Fold a winter of all boats through the frost rule."""
    winter = Winter(plan, [v for v in yard_vessels() if v.id in ABOARD])
    weather, chance = plan.weather.load(plan.begins, plan.ends, plan.seed), Random(5)
    boats = {v.id: Watch(v, plan.begins_ms, (Frost,)) for v in winter.vessels}
    nights = {v.id: Night() for v in winter.vessels}
    below: dict[str, int] = {}
    for boat in boats.values():
        boat.fold(CalendarVersion(NEW_YORK, plan.begins_ms))
    now_ms = 0
    for message in winter.stream():
        if isinstance(message, ClockMessage):
            now_ms = message.at_ms
            outcomes = [(b, boat.fold(Clock(now_ms))) for b, boat in boats.items()]
            if forecast and now_ms // HOUR_MS % 6 == 0 and now_ms % HOUR_MS == 0 and now_ms < weather.to_ms:
                coming = ForecastVersion(foretold(weather, now_ms, chance), now_ms)
                outcomes += [(b, boat.fold(coming)) for b, boat in boats.items()]
        else:
            at = message.vessel
            outcomes = [(at, boats[at].fold(Reading(at, s, t, t, t, value))) for s, _, t, value in message.readings]
            note_freeze(nights[at], below, at, {s: value for s, _, _, value in message.readings}, now_ms)
        for at, outcome in outcomes:
            for event in outcome.events:
                over = event.change in {AlertChange.RETURNED, AlertChange.ENDED}
                nights[at].standing[now_ms // HOUR_MS * HOUR_MS] = None if over else event.priority
    for night in nights.values():
        fill(night, plan)
    return nights


def note_freeze(night: Night, below: dict[str, int], at: str, said: dict[str, float], now_ms: int) -> None:
    if at in WATCHED:
        _, sensor, freeze_degc = WATCHED[at]
        value = said.get(sensor)
        if value is not None and value <= freeze_degc - 1.0:
            if now_ms - below.get(at, 0) > GRACE_MS:
                night.froze_ms.append(now_ms)
            below[at] = now_ms


def fill(night: Night, plan: WinterPlan) -> None:
    """Carry what stood from hour to hour."""
    stood: Priority | None = None
    for at_ms in range(plan.begins_ms, plan.ends_ms + 1, HOUR_MS):
        stood = night.standing.get(at_ms, stood)
        night.standing[at_ms] = stood


def plan_of(seed: int | None) -> WinterPlan:
    plan = yard_plan()
    boats = tuple(b for b in plan.boats if b.vessel in ABOARD)
    faults = tuple(f for f in plan.faults if f.vessel in ABOARD)
    weather = plan.weather if seed is None else GeneratedWeather(source="generated", seed=seed)
    return plan.model_copy(update={"boats": boats, "faults": faults, "weather": weather})


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "forecast"), [(None, True), (None, False), (11, False), (12, False), (13, True)])
def test_freezes_are_told_by_notice_time_and_sound_boats_are_left_alone(seed: int | None, forecast: bool) -> None:
    nights = lived(plan_of(seed), forecast=forecast)
    for vessel in WATCHED:
        night = nights[vessel]
        assert night.froze_ms, "a winter without a freeze shows nothing"
        told = [night.told_by_notice(at) for at in night.froze_ms]
        stood = {t: p for t, p in night.standing.items() if p is not None}
        assert min(t for t, p in stood.items() if p >= Priority.WARNING) < night.froze_ms[0] - 12 * HOUR_MS
        assert sum(told) >= (1.0 if forecast else 0.8) * len(told)
    for vessel in SOUND:
        assert {p for p in nights[vessel].standing.values() if p is not None} <= {Priority.CAUTION}, vessel

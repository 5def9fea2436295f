"""Climates that weather can be made up in, by name."""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Degc, Document, Name, Positive
from simulator.sun import Place

Share = Annotated[float, Field(ge=0, le=1)]
Chance = Annotated[float, Field(gt=0, lt=1)]


class Climate(Document):
    """What a winter is made up from. Its figures are of the hours of the cold season.

    Attributes:
        name: what it is called.
        latitude_deg: where, north positive.
        longitude_deg: where, east positive.
        mean_degc: the year's mean.
        year_k: half the swing between the coldest and the warmest time of the year.
        coldest_day: day of the year that is coldest on average.
        winters_k: standard deviation of whole winters from each other.
        spells_k: standard deviation of cold spells and thaws.
        spells_h: their memory: a spell lasts some times this.
        turn_h: how long the weather takes to turn.
        cold_tail: how much further cold spells reach than thaws: 0 as far; 0.1 a fifth more at twice ``spells_k``.
        quick_k: standard deviation of what showers, breezes and clouds do within hours.
        quick_h: its memory.
        day_k: half the swing of the hours of a cloudless day.
        moist_h: memory of moist and dry air.
        moist_spread: standard deviation of the logarithm of how dry the air is.
        depression_k: how far the dew point lies below the air in usual dry weather.
        cloud: sky cover in usual dry weather.
        wet_starts: chance that a dry hour of usual moisture is followed by a wet one.
        wet_stays: chance that a wet hour is followed by another.
        rain_mm_h: mean of a wet hour.
        wind_m_s: mean wind outside gales.
        wind_shape: Weibull's shape of it: less is gustier.
        wind_h: its memory.
        gales_a_month: how many gales.
        gale_m_s: what their peaks add to the wind, on average; a tenth add more than 1.6 times this.
        gale_h: how long they last.
        pressure_hpa: mean at sea level.
        pressure_spread_hpa: standard deviation of it.
    """

    name: Name
    latitude_deg: Annotated[float, Field(ge=-66, le=66)]
    longitude_deg: Annotated[float, Field(ge=-180, le=180)]
    mean_degc: Degc
    year_k: Annotated[float, Field(ge=0, le=40)]
    coldest_day: Annotated[float, Field(ge=1, le=366)] = 33
    winters_k: Positive = 0.9
    spells_k: Positive
    spells_h: Positive = 32
    turn_h: Positive = 8
    cold_tail: Annotated[float, Field(ge=0, le=0.2)] = 0.05
    quick_k: Positive = 0.6
    quick_h: Positive = 4
    day_k: Annotated[float, Field(ge=0, le=15)]
    moist_h: Positive = 18
    moist_spread: Positive = 0.47
    depression_k: Positive
    cloud: Share
    wet_starts: Chance
    wet_stays: Chance = 0.76
    rain_mm_h: Positive
    wind_m_s: Positive
    wind_shape: Annotated[float, Field(ge=1, le=4)] = 2.1
    wind_h: Positive = 12
    gales_a_month: Positive
    gale_m_s: Positive
    gale_h: Positive = 14
    pressure_hpa: Annotated[float, Field(ge=870, le=1085)] = 1016
    pressure_spread_hpa: Positive = 9

    @property
    def place(self) -> Place:
        """Where it is."""
        return Place(self.latitude_deg, self.longitude_deg)


# Fitted to the shipped winter (JFK 2013); whole winters' spread from memory.
COASTAL = Climate(
    name="coastal",
    latitude_deg=40.64,
    longitude_deg=-73.78,
    mean_degc=10.1,
    year_k=8.7,
    spells_k=4.4,
    spells_h=24,
    quick_k=0.8,
    quick_h=5,
    cold_tail=0.06,
    day_k=4.6,
    depression_k=6.9,
    cloud=0.62,
    wet_starts=0.0135,
    rain_mm_h=1.2,
    wind_m_s=5.4,
    wind_shape=2.15,
    gales_a_month=3,
    gale_m_s=6,
    pressure_hpa=1019,
)

# Fitted to Sand Point, Alaska (typical year 703165TY), but for its rain: few hours of that file have any. Rain from
# memory: some 500 mm in the five months.
NORTHERN_COAST = Climate(
    name="northern coast",
    latitude_deg=55.3,
    longitude_deg=-160.5,
    mean_degc=4.8,
    year_k=5.6,
    coldest_day=20,
    spells_k=3.8,
    spells_h=32,
    turn_h=16,
    cold_tail=0.1,
    quick_k=0.55,
    quick_h=5,
    moist_spread=0.42,
    day_k=2.2,
    moist_h=30,
    depression_k=4.5,
    cloud=0.86,
    wet_starts=0.02,
    wet_stays=0.82,
    rain_mm_h=0.9,
    wind_m_s=5.4,
    wind_shape=1.65,
    wind_h=16,
    gales_a_month=2,
    gale_m_s=5,
    gale_h=20,
    pressure_hpa=1005,
    pressure_spread_hpa=13,
)

# The rest is invented, each to try rules in its own way.
MILD_AND_WET = Climate(
    name="mild and wet",
    latitude_deg=50.3,
    longitude_deg=-4.1,
    mean_degc=11.4,
    year_k=4.6,
    coldest_day=38,
    spells_k=2.5,
    day_k=2.0,
    depression_k=3.2,
    cloud=0.75,
    wet_starts=0.035,
    wet_stays=0.8,
    rain_mm_h=0.9,
    wind_m_s=6.4,
    gales_a_month=5,
    gale_m_s=8,
    pressure_hpa=1013,
    pressure_spread_hpa=12,
)

HARD_FROST = Climate(
    name="hard frost",
    latitude_deg=59.4,
    longitude_deg=18.1,
    mean_degc=4.0,
    year_k=10.5,
    coldest_day=35,
    winters_k=1.2,
    spells_k=4.7,
    spells_h=80,
    turn_h=12,
    cold_tail=0.08,
    day_k=2.5,
    depression_k=3.2,
    cloud=0.6,
    wet_starts=0.012,
    rain_mm_h=0.6,
    wind_m_s=3.8,
    gales_a_month=1.5,
    gale_m_s=6,
    pressure_hpa=1014,
    pressure_spread_hpa=12,
)

FREEZE_AND_THAW = Climate(
    name="freeze and thaw",
    latitude_deg=46.2,
    longitude_deg=6.1,
    mean_degc=4.9,
    year_k=4.4,
    coldest_day=15,
    winters_k=0.6,
    spells_k=2.0,
    day_k=6.5,
    depression_k=4.0,
    cloud=0.25,
    wet_starts=0.008,
    rain_mm_h=0.9,
    wind_m_s=2.6,
    gales_a_month=1,
    gale_m_s=6,
    pressure_hpa=1019,
)

CLIMATES = {c.name: c for c in (COASTAL, NORTHERN_COAST, MILD_AND_WET, HARD_FROST, FREEZE_AND_THAW)}

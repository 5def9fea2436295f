"""Outdoor weather: the door to what it is and where it comes from."""

from simulator.hours import HOUR_MS, Hour, Weather
from simulator.weather_files import load, read_csv

__all__ = ["HOUR_MS", "Hour", "Weather", "load", "read_csv"]

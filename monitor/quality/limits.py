"""The quality tests' table of limits. The span at whose ends a reading fails is a quantity's own (`monitor.model`)."""

from monitor.model.limits import Limit, Limits

_OURS = "common practice, no source"
_FALLS = "only falls are tested: heat is told at once"

LIMITS = Limits(
    Limit("spike_level", 0.03, "m", _OURS, "ten times the noise of an ordinary level sensor", "-"),
    Limit("spike_fall", 10.0, "K", _OURS, f"no thermometer aboard falls so and comes back; {_FALLS}", "-"),
    Limit("spike_near", 6.0, "intervals", _OURS, "a neighbour further away says nothing of a spike", "-"),
    Limit("teeth", 2.0, "others", "invented", "a level that stands out so far the third time does so by habit", "-"),
    Limit("teeth_within", 3.0, "d", "invented", "a pump or wash that makes it comes again within days", "-"),
    Limit("rate_temperature", 60.0, "K/h", _OURS, f"a probe dipped in ice-water does more; {_FALLS}", "-"),
    Limit("rate_humidity", 60.0, "%/h", _OURS, "an opened hatch does less in calm winter air", "-"),
    Limit("rate_pressure", 2_000.0, "Pa/h", _OURS, "twice the steepest fall of a great storm", "-"),
    Limit("step_temperature", 10.0, "K", _OURS, "added to the rate: two readings a second apart differ by noise", "-"),
    Limit("step_humidity", 30.0, "%", _OURS, "ten times the sensor's error, for the same reason", "-"),
    Limit("step_pressure", 2_000.0, "Pa", _OURS, "ten times the sensor's error, for the same reason", "-"),
    Limit(
        "step_volts", 0.4, "of nominal", _OURS, "a bank does not halve or double between two readings", "read by hand"
    ),
    Limit("volts_off", 0.05, "of nominal", _OURS, "to 0 V and back is an isolator, and believed at once", "-"),
    Limit(
        "volts_high", 1.6, "of nominal", _OURS, "no charger of that nominal gives so much: another bank", "read by hand"
    ),
    Limit(
        "power_on_degc",
        85.0,
        "degC",
        "data sheet of the commonest digital thermometer",
        "what it says at power-on",
        "-",
    ),
    Limit("power_on_step", 20.0, "K", _OURS, "85.0 °C out of so much less is the chip, a fire says other figures", "-"),
    Limit("outside_cold_low", -40.0, "degC", _OURS, "colder than any harbour's winter", "look at it"),
    Limit(
        "outside_cold_high",
        35.0,
        "degC",
        _OURS,
        "winter air is not so warm: it hangs in the sun or indoors",
        "shade it",
    ),
    Limit("outside_warm_low", -15.0, "degC", _OURS, "colder than any harbour's April", "look at it"),
    Limit("outside_warm_high", 55.0, "degC", _OURS, "warmer than any air: it hangs in the sun", "shade it"),
    Limit("space_cold_low", -40.0, "degC", _OURS, "no space aboard is colder than the coldest air", "look at it"),
    Limit("space_warm_low", -15.0, "degC", _OURS, "no space aboard is colder than the coldest air", "look at it"),
    Limit(
        "humidity_low", 8.0, "%", _OURS, "no dehumidifier gets there in the cold: a dead element says so", "change it"
    ),
    Limit("pressure_low", 92_000.0, "Pa", _OURS, "deeper than the lows of the great Atlantic storms", "look at it"),
    Limit("pressure_high", 107_500.0, "Pa", _OURS, "above the highest winter highs outside Siberia", "look at it"),
    Limit(
        "flat_chance",
        1e-9,
        "1",
        "invented",
        "(1 - c)^n for n equal values of a sensor that changes in a share c; neighbours are alike, so far below 1",
        "shake it",
    ),
    Limit("flat_least", 6.0, "h", "invented", "a fast sensor may rest for minutes", "-"),
    Limit("flat_learns_from", 48.0, "readings", "invented", "before that its own noise is not known", "-"),
    Limit("flat_memory", 200.0, "readings", "invented", "follows the season, forgets the first day", "-"),
    Limit(
        "flat_moves",
        0.05,
        "share",
        "invented",
        "a sensor that only flickers between two steps of its resolution may rest on one for days",
        "-",
    ),
    Limit("saturated", 99.0, "%", _OURS, "saturated air is rightly flat", "-"),
)

"""The maintenance rule's table of limits."""

from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"
_CLAIMS = "a boat-owners' association's claims advice"

LIMITS = Limits(
    # Coolant
    Limit("inorganic", 2.0, "years", _OURS, "its inhibitors are used up; the maker's book overrides", "change it"),
    Limit("organic_acid", 5.0, "years", _OURS, "its inhibitors are used up; the maker's book overrides", "change it"),
    # Visits
    Limit("visit_ashore", 31.0, "d", _CLAIMS, "at least monthly", "go aboard, and write it down"),
    Limit("visit_afloat", 7.0, "d", _OURS, "weekly: she has the sea round her", "go aboard, and write it down"),
    Limit("visit_after_thaw", 1.0, "d", _CLAIMS, "what frost broke leaks when it thaws", "go aboard"),
    # A frost and its thaw, by the air outside
    Limit("frost_degc", 0.0, "degC", "freezing point of water", "-", "-"),
    Limit("frost_for", 36.0, "h", "invented", "one cold night alone splits little that a visit would find", "-"),
    Limit("frost_to", -5.0, "degC", "invented", "above it a space of laminate hardly freezes through", "-"),
    Limit("thaw_degc", 2.0, "degC", "invented", "warm enough to melt what froze", "-"),
    Limit("thaw_for", 6.0, "h", "invented", "a mild noon between two frosts is no thaw", "-"),
    Limit("spoken_for", 3.0, "h", _OURS, "one reading of air speaks for no longer", "-"),
)

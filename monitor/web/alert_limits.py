"""Which of a rule's limits a kind of finding hangs on, so that *why this alert* can show their rows."""

from monitor.model.finding import Finding
from monitor.model.limits import Limit
from monitor.web.rule_text import LIMITS_OF

HANGS_ON: dict[str, dict[str, tuple[str, ...]]] = {
    "frost": {
        "margin": ("margin_caution", "margin_warning", "on_delay"),
        "wet": ("margin_caution", "wet_visit", "wet_alarm", "on_delay"),
        "battery": ("margin_caution", "margin_warning", "battery_error", "on_delay"),
        "thaw": ("freeze_counts", "thaw_above", "thaw_watch"),
        "froze unheard": ("freeze_counts", "thaw_watch"),
        "charge not known": ("volts_stale",),
        "not known": ("stale",),
    },
    "power": {
        "lost": ("blink", "back_within", "together", "inferred_for", "frost_ahead", "frost_wet", "frost_margin"),
        "not known": ("mains_stale",),
    },
    "battery": {
        "low": ("recharge", "half", "empty", "empty_over", "rested_after"),
        "charger lost": ("off_for", "never_on_for", "float_room", "spell_longer"),
        "hidden load": ("hidden", "steep", "soon", "on_delay_load"),
        "decline": ("soon", "urgent"),
        "pump": ("pump_for", "pump_draw", "pump_floor", "soon", "urgent"),
        "overcharge": ("over_for", "over_room", "lithium_float"),
        "hot": ("hotter", "hot"),
        "no volts": ("no_volts", "on_delay_volts"),
        "lithium": ("lithium_low", "lithium_empty"),
        "not known": ("stale",),
    },
    "bilge": {
        "float": ("contradicts_below", "contradicts_fresh"),
        "high": ("high_deadband", "high_off"),
        "rise": ("alarm_within", "alarm_kept_to", "alarm_after_thaw"),
        "pump runs": ("pump_told", "pump_often", "pump_times_more", "pump_chance", "pump_share"),
        "pump long": ("pump_long",),
        "bung out": ("bung_out_waits",),
        "silent after rise": ("silent_after", "silent_least"),
        "water or sensor": ("contradicts_below", "contradicts_fresh", "no_jump"),
        "was high unheard": ("unheard_stands",),
        "not known": ("silent_after", "silent_least"),
    },
    "damp": {
        "dehumidifier stopped": ("held_over", "over_hours", "over_window"),
        "humid": ("band_over", "band_hours", "mould_rh", "pulled"),
        "heat without drying": ("heat_warmer", "heat_rh", "heat_undried", "heat_hours"),
        "mould": ("mould_index", "mould_near", "mould_soon"),
        "condensation": ("wet_hours", "known_hours"),
        "not known": ("stale", "known_hours"),
        "drying not known": ("stale",),
    },
    "silence": {
        "gateway": (
            *("gateway_afloat", "gateway_ashore", "gateway_frost_coming", "gateway_frost_now"),
            *("gateway_cadences", "gateway_alarm"),
        ),
        "sensor": ("sensor_cadences", "sensor_least"),
        "never heard": ("new_boat", "sensor_least"),
        "stuck": ("stuck_after",),
        "failing": ("failing_at",),
        "doubtful": ("doubtful_at",),
        "jumped": ("jump", "jump_back", "jump_within"),
        "low cell": ("cell_low", "cell_least", "cell_readings"),
        "disagree": ("pair_room", "pair_after"),
    },
    "maintenance": {
        "coolant old": ("inorganic", "organic_acid"),
        "tested before change": (),
        "not proven": (),
        "visit overdue": ("visit_ashore", "visit_afloat"),
        "visit after thaw": ("visit_after_thaw", "frost_for", "frost_to", "thaw_degc", "thaw_for"),
        "kit due": (),
        "bilge unseen": (),
        "battery unseen": (),
    },
}
"""By rule and kind. A kind that hangs on nothing but the record has no limit."""


def limits_behind(finding: Finding) -> tuple[Limit, ...]:
    """Give the rows of its rule's table that a finding hangs on."""
    rows = {row.name: row for row in LIMITS_OF.get(finding.rule, ())}
    return tuple(rows[name] for name in HANGS_ON.get(finding.rule, {}).get(finding.kind, ()))

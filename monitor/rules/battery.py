"""Battery: is there enough charge in it, where is it going, and does its charger still hold it?

Volts tell the charge of a lead-acid battery only at rest; there the rule reads the charge, what is lost each day, the
days to the next recharge, and the load that self-discharge does not explain. Where the record says that a charger is
left on, it watches the float instead. Of lithium it says what volts cannot tell, and warns below the knee of its curve.
"""

from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from monitor.rules.battery_bank import Bank, BatteryState, Plan, acid_degc, bank_of, plan_of
from monitor.rules.battery_findings import RULE, cannot_tell, charger_lost, declining, low, no_volts, not_known
from monitor.rules.battery_float import follow_float, lost_from_ms
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import look_ahead
from monitor.rules.battery_rest import median_v, rest
from monitor.rules.battery_warmth import feel
from monitor.rules.mains import Mains, mains_of
from monitor.rules.rule import Rule, earliest, held_step
from monitor.science.discharge import load_pct_per_day

_JUDGED = {
    Mode.ASHORE_BUNG_IN,
    Mode.ASHORE_BUNG_OUT,
    Mode.AFLOAT_LAID_UP,
    Mode.FIRST_24_H_AFLOAT,
    Mode.WORK_ABOARD,
}


class Batteries(Rule[BatteryState]):
    """Charge, decline, hidden load and charger of every battery."""

    name = RULE
    version = 1
    state_type = BatteryState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.plans = {b.id: plan_of(b, record) for b in record.batteries}
        self.by_volts: dict[str, list[Plan]] = {}
        self.by_degc: dict[str, list[Plan]] = {}
        for plan in self.plans.values():
            if plan.battery.voltage_sensor is not None:
                self.by_volts.setdefault(plan.battery.voltage_sensor, []).append(plan)
            degc = plan.battery.temperature_sensor or record.outside_sensor
            if degc is not None:
                self.by_degc.setdefault(degc, []).append(plan)
        self.mains_sensor = record.shore_power.mains_sensor
        self.sensors = frozenset({*self.by_volts, *self.by_degc, *([self.mains_sensor] if self.mains_sensor else [])})

    def see(self, state: BatteryState, reading: Reading) -> None:
        """Take volts, a temperature or the mains in."""
        if reading.sensor == self.mains_sensor:
            state.mains = Seen(reading.sensor, reading.event_ms, reading.value)
            return
        for plan in self.by_degc.get(reading.sensor, ()):
            feel(bank_of(state, plan).warmth, reading.event_ms, reading.value, plan.lag_ms)
        for plan in self.by_volts.get(reading.sensor, ()):
            self._take_volts(bank_of(state, plan), plan, reading)

    def judge(self, state: BatteryState, now_ms: int) -> list[Finding]:
        """Say what each battery needs: the worst that is true of it."""
        if self.record.mode not in _JUDGED:
            return []
        mains = mains_of(state.mains)
        found = []
        for plan in self.plans.values():
            finding = self._judge_one(state.banks.get(plan.battery.id), plan, mains, now_ms)
            if finding is not None:
                found.append(finding)
        return found

    def next_look(self, state: BatteryState, now_ms: int) -> int | None:
        """Look again when volts grow too old to go by, and when a charger has been off for long enough."""
        if self.record.mode not in _JUDGED:
            return None
        mains = mains_of(state.mains)
        times: list[int | None] = []
        for plan in self.plans.values():
            bank = state.banks.get(plan.battery.id)
            if bank is not None and bank.at_ms is not None:
                times.append(bank.at_ms + plan.stale_ms + 1)
                if plan.charger:
                    times.append(lost_from_ms(bank.floating, mains_lost=mains is Mains.GONE))
        return earliest([t for t in times if t is not None and t > now_ms])

    def _take_volts(self, bank: Bank, plan: Plan, reading: Reading) -> None:
        at_ms, v = reading.event_ms, reading.value * plan.scale
        bank.at_ms, bank.volts = at_ms, reading.value
        if v < LIMITS["no_volts"]:
            return
        t_degc = acid_degc(bank)
        if plan.charger:
            follow_float(bank.floating, at_ms, v, t_degc)
        if rest(bank.resting, at_ms, v, t_degc, plan.charging_v):
            self._look_ahead(bank, plan)
        bank.under = _under(bank, plan, v)

    def _look_ahead(self, bank: Bank, plan: Plan) -> None:
        if plan.is_lithium:
            return
        since_ms, battery = bank.resting.since_ms or 0, plan.battery
        outlook = look_ahead(
            plan.chemistry, battery.capacity_ah, battery.budget_ma, plan.error_v, since_ms, bank.resting.points
        )
        bank.outlook = outlook
        if outlook is None:
            bank.low = bank.soon = None
            bank.load = False
            return
        room = LIMITS["charge_deadband"]
        alarm = held_step(outlook.low_pct, [(LIMITS["half"], Priority.ALARM)], bank.low, room)
        bank.low = alarm or held_step(outlook.best_pct, [(LIMITS["recharge"], Priority.WARNING)], bank.low, room)
        steps = [(LIMITS["soon"], Priority.CAUTION), (LIMITS["urgent"], Priority.WARNING)]
        days = outlook.days
        bank.soon = None if days is None else held_step(days, steps, bank.soon, LIMITS["days_deadband"])
        excess = load_pct_per_day(outlook.excess_least_ma, battery.capacity_ah)
        bank.load = excess >= LIMITS["hidden"] / (2.0 if bank.load else 1.0)

    def _judge_one(self, bank: Bank | None, plan: Plan, mains: Mains, now_ms: int) -> Finding | None:
        if bank is None or bank.at_ms is None or now_ms - bank.at_ms > plan.stale_ms:
            return not_known(bank, plan)
        if bank.volts * plan.scale < LIMITS["no_volts"]:
            return no_volts(bank, plan)
        lost_ms = lost_from_ms(bank.floating, mains_lost=mains is Mains.GONE) if plan.charger else None
        lost = lost_ms is not None and now_ms >= lost_ms
        grade = max((p for p in (bank.low, bank.under) if p is not None), default=None)
        if grade is not None and (grade is Priority.ALARM or not lost):
            return low(bank, plan, grade, mains, lost=lost)
        if lost:
            return charger_lost(bank, plan, mains)
        if plan.is_lithium:
            return None if plan.charger and bank.floating.off_since_ms is None else cannot_tell(bank, plan)
        return declining(bank, plan)


def _under(bank: Bank, plan: Plan, v: float) -> Priority | None:
    # Volts that are too low whether the battery rests or not. The median is only asked for where one reading is near.
    held, room = bank.under, LIMITS["empty_deadband"]
    steps = [(LIMITS["empty"], Priority.ALARM)]
    if plan.is_lithium:
        steps = [(LIMITS["lithium_low"], Priority.WARNING), (LIMITS["lithium_empty"], Priority.ALARM)]
    if held is None and v >= steps[0][0]:
        return None
    lately = median_v(bank.resting)
    return None if lately is None else held_step(lately, steps, held, room)

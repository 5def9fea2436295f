"""Battery: is there enough charge in it, where is it going, and does its charger hold it, and not too hard?

Volts tell the charge of a lead-acid battery only at rest; there the rule reads the charge, what is lost each day, the
days to the next recharge, and the load that self-discharge does not explain. Where the record says that a charger is
left on, it watches the float instead. Of lithium it says what volts cannot tell, and warns below the knee of its curve.
Volts above any float for a day, or a battery that is hot, go before all else. Afloat, the battery that feeds the bilge
pump must be able to run it for a day.
"""

from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.battery_bank import Bank, BatteryState, Moment, Plan, acid_degc, bank_of, plan_of
from monitor.rules.battery_findings import cannot_tell, charger_lost, declining, low, no_volts, not_known
from monitor.rules.battery_float import follow_float, lost_from_ms
from monitor.rules.battery_gone import gone, gone_at, note_said
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import look_ahead
from monitor.rules.battery_over import follow_over, is_hot, may_be_hot, most_v, over_from_ms
from monitor.rules.battery_over_findings import hot, overcharged
from monitor.rules.battery_pressing import presses
from monitor.rules.battery_rest import median_v, rest
from monitor.rules.battery_say import RULE
from monitor.rules.battery_warmth import feel
from monitor.rules.mains import Mains, mains_of
from monitor.rules.rule import HOUR_MS, Changes, Rule, earliest, held_step
from monitor.science.discharge import load_pct_per_day

_JUDGED = {
    Mode.ASHORE_BUNG_IN,
    Mode.ASHORE_BUNG_OUT,
    Mode.AFLOAT_LAID_UP,
    Mode.FIRST_24_H_AFLOAT,
    Mode.WORK_ABOARD,
}
_NO_VOLTS = LIMITS["no_volts"]


class Batteries(Rule[BatteryState]):
    """Charge, decline, hidden load, charger and heat of every battery."""

    name = RULE
    version = 5
    state_type = BatteryState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.plans = {b.id: plan_of(b, record) for b in record.batteries}
        self.by_volts: dict[str, list[Plan]] = {}
        self.by_degc: dict[str, list[Plan]] = {}
        self.by_place: dict[str, list[Plan]] = {}
        for plan in self.plans.values():
            if plan.battery.voltage_sensor is not None:
                self.by_volts.setdefault(plan.battery.voltage_sensor, []).append(plan)
            if plan.place_sensor is not None:
                self.by_place.setdefault(plan.place_sensor, []).append(plan)
            degc = plan.battery.temperature_sensor or record.outside_sensor
            if degc is not None:
                self.by_degc.setdefault(degc, []).append(plan)
        self.mains_sensor = record.shore_power.mains_sensor
        mains = () if self.mains_sensor is None else (self.mains_sensor,)
        self.sensors = frozenset({*self.by_volts, *self.by_degc, *self.by_place, *mains})

    def see(self, state: BatteryState, reading: Reading) -> Changes:
        """Take volts, a temperature or the mains in."""
        sensor, at_ms, value = reading.sensor, reading.event_ms, reading.value
        if sensor == self.mains_sensor:
            before, state.mains = mains_of(state.mains), Seen(sensor, at_ms, value)
            return Changes.NOTHING if mains_of(state.mains) is before else Changes.ANYTHING
        changes = Changes.NOTHING
        for plan in self.by_degc.get(sensor, ()):
            bank = bank_of(state, plan)
            feel(bank.warmth, at_ms, value, plan.lag_ms)
            if plan.probe_on_it and may_be_hot(bank.over, bank.warmth):
                changes = Changes.ANYTHING
        for plan in self.by_place.get(sensor, ()):
            bank = bank_of(state, plan)
            bank.over.space = Seen(sensor, at_ms, value)
            if may_be_hot(bank.over, bank.warmth):
                changes = Changes.ANYTHING
        for plan in self.by_volts.get(sensor, ()):
            bank = bank_of(state, plan)
            before_ms, told_by = bank.at_ms, self._told_by(state, bank, plan)
            self._take_volts(bank, plan, reading, mains_of(state.mains))
            if self._told_by(state, bank, plan) != told_by:
                changes = Changes.ANYTHING
            elif before_ms is None or before_ms // HOUR_MS != at_ms // HOUR_MS:
                # The figures of what is told are told anew each hour, and a meter that is heard again at once.
                changes = Changes.WHAT_IS_SAID if changes is Changes.NOTHING else changes
        return changes

    def _told_by(self, state: BatteryState, bank: Bank, plan: Plan) -> tuple[object, ...]:
        """Give all by which a battery is told of, but for figures: what is held, and from when on more would be."""
        gone = plan.charger and mains_of(state.mains) is Mains.GONE
        lost_ms = lost_from_ms(bank.floating, mains_lost=gone) if plan.charger else None
        unseen = bank.volts * plan.scale < _NO_VOLTS
        resting = bank.floating.off_since_ms is None or not plan.charger
        return (
            bank.low,
            bank.under,
            bank.soon,
            bank.pump,
            bank.load,
            over_from_ms(bank.over),
            lost_ms,
            unseen,
            resting,
            resting or self.surroundings.calendar.is_planned_cut(bank.at_ms or 0),
            bank.outlook,
        )

    def judge(self, state: BatteryState, now_ms: int) -> list[Finding]:
        """Say what each battery needs: the worst that is true of it."""
        if self.record.mode not in _JUDGED:
            return []
        moment = Moment(now_ms, mains_of(state.mains), self.surroundings.forecast)
        found = []
        for plan in self.plans.values():
            bank = state.banks.get(plan.battery.id)
            finding = self._judge_one(bank, plan, moment)
            if bank is not None and finding is None:
                finding = gone(bank, plan, moment)
            elif bank is not None and finding is not None and finding.sure is not Sure.NOT_KNOWN:
                note_said(bank, finding)
            if finding is not None:
                found.append(finding)
        return found

    def next_look(self, state: BatteryState, now_ms: int) -> int | None:
        """Look again when volts grow too old to go by, and when a charger has been off, or on, for too long."""
        if self.record.mode not in _JUDGED:
            return None
        mains = mains_of(state.mains)
        times: list[int | None] = []
        for plan in self.plans.values():
            bank = state.banks.get(plan.battery.id)
            if bank is not None and bank.at_ms is not None:
                times += [bank.at_ms + plan.stale_ms + 1, over_from_ms(bank.over), gone_at(bank)]
                if plan.charger:
                    times.append(lost_from_ms(bank.floating, mains_lost=mains is Mains.GONE))
        return earliest([t for t in times if t is not None and t > now_ms])

    def _take_volts(self, bank: Bank, plan: Plan, reading: Reading, mains: Mains) -> None:
        at_ms, v = reading.event_ms, reading.value * plan.scale
        bank.at_ms, bank.volts = at_ms, reading.value
        if v < _NO_VOLTS:
            return
        t_degc = acid_degc(bank)
        follow_over(bank.over, at_ms, v, most_v(t_degc, lithium=plan.is_lithium))
        if plan.charger:
            follow_float(bank.floating, at_ms, v, t_degc)
            if bank.floating.off_since_ms is not None and self.surroundings.calendar.is_planned_cut(at_ms):
                # What it is off for on purpose does not count: its time begins when the power should be back.
                bank.floating.off_since_ms = at_ms
        if rest(bank.resting, at_ms, v, t_degc, plan.charging_v):
            self._look_ahead(bank, plan, Moment(at_ms, mains, self.surroundings.forecast))
        bank.under = _under(bank, plan, v)

    def _look_ahead(self, bank: Bank, plan: Plan, moment: Moment) -> None:
        if plan.is_lithium:
            return
        since_ms, battery = bank.resting.since_ms or 0, plan.battery
        outlook = look_ahead(
            plan.chemistry,
            battery.capacity_ah,
            battery.budget_ma,
            plan.error_v,
            since_ms,
            bank.resting.points,
            plan.floor_pct,
        )
        bank.outlook = outlook
        if outlook is None:
            bank.low = bank.soon = bank.pump = None
            bank.load = False
            return
        room = LIMITS["charge_deadband"]
        held = bank.low is Priority.ALARM
        bank.low = held_step(outlook.best_pct, [(LIMITS["recharge"], Priority.WARNING)], bank.low, room)
        if presses(bank, plan, outlook, moment, held=held):
            bank.low = Priority.ALARM
        if plan.pump is not None and plan.pump.fits:
            bank.pump = held_step(outlook.best_pct, [(plan.pump.day_pct, Priority.WARNING)], bank.pump, room)
        steps = [(LIMITS["soon"], Priority.CAUTION), (LIMITS["urgent"], Priority.WARNING)]
        days = outlook.days
        bank.soon = None if days is None else held_step(days, steps, bank.soon, LIMITS["days_deadband"])
        excess = load_pct_per_day(outlook.excess_least_ma, battery.capacity_ah)
        bank.load = excess >= LIMITS["hidden"] / (2.0 if bank.load else 1.0)

    def _judge_one(self, bank: Bank | None, plan: Plan, moment: Moment) -> Finding | None:
        if bank is None or bank.at_ms is None:
            return not_known(bank, plan, moment)
        danger = _danger(bank, plan, moment)
        if danger is not None:
            return danger
        if moment.now_ms - bank.at_ms > plan.stale_ms:
            return not_known(bank, plan, moment)
        if bank.volts * plan.scale < _NO_VOLTS:
            return no_volts(bank, plan, moment)
        return self._charge(bank, plan, moment)

    def _charge(self, bank: Bank, plan: Plan, moment: Moment) -> Finding | None:
        lost = self._charger_is_lost(bank, plan, moment)
        grade = max((p for p in (bank.low, bank.under) if p is not None), default=None)
        if grade is not None and (grade is Priority.ALARM or not lost):
            return low(bank, plan, grade, moment, lost=lost)
        if lost:
            return charger_lost(bank, plan, moment)
        if plan.is_lithium:
            return None if plan.charger and bank.floating.off_since_ms is None else cannot_tell(bank, plan, moment)
        return declining(bank, plan, moment)

    def _charger_is_lost(self, bank: Bank, plan: Plan, moment: Moment) -> bool:
        # Volts heard while the yard's power was off on purpose say nothing of the charger.
        if not plan.charger or self.surroundings.calendar.is_planned_cut(bank.at_ms or 0):
            return False
        lost_ms = lost_from_ms(bank.floating, mains_lost=moment.mains is Mains.GONE)
        return lost_ms is not None and moment.now_ms >= lost_ms


def _danger(bank: Bank, plan: Plan, moment: Moment) -> Finding | None:
    # Neither goes by silence: what is not heard has not cooled down, and no charger is off for it.
    if plan.probe_on_it and is_hot(bank.over, bank.warmth, moment.now_ms):
        return hot(bank, plan, moment)
    over_ms = over_from_ms(bank.over)
    if over_ms is not None and moment.now_ms >= over_ms:
        return overcharged(bank, plan, moment)
    return None


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

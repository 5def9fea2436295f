"""One bilge of the record, with what the record says of its sensors."""

from dataclasses import dataclass

from monitor.model.equipment import Bilge
from monitor.model.vessel import Vessel
from monitor.rules.inflow import dip_table
from monitor.rules.rule import HOUR_MS, SECOND_MS
from monitor.science.bilge import DipTable, pump_on_board_l_per_h


@dataclass(frozen=True, slots=True)
class Compartment:
    """A bilge as it is watched.

    Attributes:
        bilge: the bilge in the record.
        table: its dip table, None where there is none.
        level_interval_ms: how often its level is recorded to come.
        float_interval_ms: the recorded heartbeat of its float switch.
        accuracy_m: recorded error of its level.
        pump_l_per_h: what its pump delivers on board, None where no rating is recorded.
    """

    bilge: Bilge
    table: DipTable | None
    level_interval_ms: float
    float_interval_ms: float
    accuracy_m: float
    pump_l_per_h: float | None

    @property
    def has_pump(self) -> bool:
        """Whether a pump that runs by itself is recorded here."""
        return self.bilge.pump_lph is not None or self.bilge.pump_sensor is not None

    @classmethod
    def of(cls, record: Vessel, bilge: Bilge) -> "Compartment":
        """Gather what the record says of a bilge."""
        rated = bilge.pump_lph
        level = record.sensor(bilge.level_sensor or "")
        switch = record.sensor(bilge.float_sensor or "")
        return cls(
            bilge=bilge,
            table=dip_table(bilge),
            level_interval_ms=HOUR_MS if level is None else level.interval_s * SECOND_MS,
            float_interval_ms=HOUR_MS if switch is None else switch.interval_s * SECOND_MS,
            accuracy_m=0.0 if level is None else level.accuracy,
            pump_l_per_h=None if rated is None else pump_on_board_l_per_h(rated),
        )

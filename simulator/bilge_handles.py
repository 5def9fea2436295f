"""What is turned and read at a bilge from outside, by the names a boat and her faults know."""

from simulator.float_switch import FloatSwitch
from simulator.inflow import Cause, Inflow
from simulator.openings import Opening
from simulator.pump import Pump


class Handles:
    """The parts of a bilge, and short names for what befalls them.

    Attributes:
        inflow: what comes into it, cause by cause.
        float_switch: its float switch.
        pump: its pump.
    """

    __slots__ = ("_opening", "float_switch", "inflow", "pump")

    def __init__(self, inflow: Inflow, float_switch: FloatSwitch, pump: Pump) -> None:
        self.inflow = inflow
        self.float_switch = float_switch
        self.pump = pump
        self._opening = Opening(0.0)

    @property
    def drip_l_s(self) -> float:
        """What drips in, as through a gland."""
        return self.inflow.gland_l_s

    @drip_l_s.setter
    def drip_l_s(self, l_s: float) -> None:
        self.inflow.drip(l_s)

    @property
    def opening_m2(self) -> float:
        """Area of the first opening below the waterline; further ones are added to ``inflow.openings``."""
        return self._opening.area_m2

    @opening_m2.setter
    def opening_m2(self, area_m2: float) -> None:
        self._opening.area_m2 = area_m2
        if self._opening not in self.inflow.openings:
            self.inflow.openings.append(self._opening)

    @property
    def opening_at_m(self) -> float:
        """Height of the first opening above the sensor's zero."""
        return self._opening.at_m

    @opening_at_m.setter
    def opening_at_m(self, at_m: float) -> None:
        self._opening.at_m = at_m

    @property
    def entered_by_l(self) -> dict[Cause, float]:
        """What has come in since the start, by cause."""
        return self.inflow.entered_by_l()

    @property
    def entered_l(self) -> float:
        """All that has come in since the start."""
        return sum(self.inflow.entered_by_l().values())

    @property
    def float_up(self) -> bool:
        """Whether the float switch is up."""
        return self.float_switch.up

    @property
    def float_iced(self) -> bool:
        """Whether ice holds the float where it is."""
        return self.float_switch.iced

    @float_iced.setter
    def float_iced(self, iced: bool) -> None:
        self.float_switch.iced = iced

    @property
    def float_fouled(self) -> bool | None:
        """Whether dirt holds the float up (True) or down (False), whatever the water; None where it is free."""
        return self.float_switch.fouled

    @float_fouled.setter
    def float_fouled(self, fouled: bool | None) -> None:
        self.float_switch.fouled = fouled

    @property
    def pump_ready(self) -> bool:
        """Whether the pump can run: there, wired, not failed."""
        return self.pump.ready

    @pump_ready.setter
    def pump_ready(self, ready: bool) -> None:
        self.pump.ready = ready

    @property
    def pump_ran_s(self) -> float:
        """For how long the pump ran in the last step."""
        return self.pump.ran_s

    @property
    def pump_ah(self) -> float:
        """What the pump drew in the last step."""
        return self.pump.used_ah

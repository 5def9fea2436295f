"""What a battery bank is: as the record has it, and as it truly is."""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Chemistry, Document, Positive
from simulator.heat import NotNegative
from simulator.lead import ACIDS, Acid
from simulator.lithium import LITHIUM, Lithium

Cells = Acid | Lithium
CELLS: dict[Chemistry, Cells] = {**ACIDS, Chemistry.LIFEPO4: LITHIUM}


class BatteryPlan(Document):
    """A bank as it truly is: its charge when left, what draws on it, and its charger (None where there is none).

    ``management_ma`` is what a lithium battery's management system draws; lead-acid has none. A few milliamperes:
    common practice, no source.
    """

    left_charged: Annotated[float, Field(gt=0, le=1)] = 1.0
    load_ma: NotNegative = 0.0
    charger_a: Positive | None = None
    management_ma: NotNegative = 5.0


class BankPlan(BatteryPlan):
    """A bank with what the record says of it: chemistry, size and volts."""

    chemistry: Chemistry
    capacity_ah: Positive
    nominal_v: Positive = 12.0

"""How far a bank's volts sag under a load: the resistance of its cells, by charge, cold and load."""

from math import exp

from simulator.bank_plan import Cells

# Where the capacity ends the resistance grows within this share of it; from memory.
KNEE_CHARGED = 0.05
RATED_HOURS = 20.0


def sag_v(cells: Cells, load_c: float, charged: float, degc: float) -> float:
    """Give by how much a load lowers the volts of what is 12 V nominal.

    Warm and full the resistance is what it is. The cold makes it more, and it takes from the capacity of a load of some
    hours; a gateway's few milliamperes still get nearly all of it. The model is invented; its ends are published: a
    twentieth of the capacity brings lead to 1.75 V a cell at nothing left, by the definition of the 20-hour capacity.

    Args:
        cells: what the bank is made of.
        load_c: the load as a share of the capacity an hour: 0.05 is 5 A of 100 Ah.
        charged: share of charge, 0 to 1.
        degc: the cells' temperature.
    """
    if load_c <= 0:
        return 0.0
    available = cells.available(degc)
    locked = (1 - available) * min(load_c * RATED_HOURS, 1.0)
    knee = cells.knee * exp(-max(charged - locked, 0.0) / KNEE_CHARGED) if cells.knee else 0.0
    return load_c * cells.ohm_ah / available * (1 + knee)

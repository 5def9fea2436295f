"""Where a liquid system freezes, as it was left by the lay-up record."""

from monitor.model.equipment import Liquid, LiquidSystem, SystemState, Tester
from monitor.science.freezing import sea_water_freezing_point_degc

TESTER_ERROR_K = {Tester.REFRACTOMETER: 1.0, Tester.BALL: 5.0, Tester.LABORATORY: 0.5}
"""ASTM D3321 for the refractometer; common practice for the ball tester (5 K steps); from memory for a laboratory."""


def system_point(system: LiquidSystem) -> tuple[str, float, float] | None:
    """Say how a system was left, where it freezes (degC) and the error of that (K); None where nothing can freeze."""
    if system.state is SystemState.TREATED and system.tested_freeze_degc is not None and system.tester is not None:
        return "treated", system.tested_freeze_degc, TESTER_ERROR_K[system.tester]
    if system.state is SystemState.WET:
        measured_salt = system.liquid is Liquid.SEA_WATER and system.salinity_g_per_kg is not None
        salt = system.salinity_g_per_kg if measured_salt and system.salinity_g_per_kg is not None else 0.0
        return "wet", sea_water_freezing_point_degc(salt), 0.0
    if system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains):
        return None
    return "not proven", 0.0, 0.0

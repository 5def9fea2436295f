"""Is this reading believable? Streaming tests with QARTOD flag values, one small state a sensor.

Source of the tests and flags: US IOOS, Manual for Real-Time Quality Control of Water Level Data, v2.1, 2021. Which
tests a sensor gets follows from the vessel's record (`expected`), their figures stand in `limits`. Syntax is tested
where readings come in; times ahead, repeated or late where they are placed in event time; gaps and thermometers that
differ by the silence rule, since both need more than one reading. No test holds back, delays or drops heat, a float
switch, or water at its high mark.
"""

from monitor.quality.believe import assess
from monitor.quality.expected import SensorTests, expected_of
from monitor.quality.memory import SensorQuality

__all__ = ["VERSION", "SensorQuality", "SensorTests", "assess", "expected_of"]

VERSION = 3

"""The rules, in the order in which they are judged."""

from typing import Any

from monitor.rules.battery import Batteries
from monitor.rules.bilge import Bilge
from monitor.rules.damp import Damp
from monitor.rules.frost import Frost
from monitor.rules.maintenance import Maintenance
from monitor.rules.power import Power
from monitor.rules.rule import Rule
from monitor.rules.silence import Silence

RULES: tuple[type[Rule[Any]], ...] = (Frost, Power, Batteries, Bilge, Damp, Silence, Maintenance)

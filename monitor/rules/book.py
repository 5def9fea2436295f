"""The rules, in the order in which they are judged."""

from typing import Any

from monitor.rules.frost import Frost
from monitor.rules.rule import Rule

RULES: tuple[type[Rule[Any]], ...] = (Frost,)

"""The ordered scales that readings, findings and alerts are graded on."""

from enum import IntEnum, StrEnum


class Flag(IntEnum):
    """Quality of a reading, with the values of QARTOD and UNESCO-IODE."""

    PASS = 1
    NOT_EVALUATED = 2
    SUSPECT = 3
    FAIL = 4
    MISSING = 9


class Priority(IntEnum):
    """How soon somebody must act, in the order of IMO MSC.302(87)."""

    CAUTION = 1
    WARNING = 2
    ALARM = 3

    @property
    def word(self) -> str:
        """The priority as it is written in data: ``caution``, ``warning`` or ``alarm``."""
        return self.name.lower()


class AlertState(StrEnum):
    """State of an alert, by its name in ISA-18.2 / IEC 62682."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned unacknowledged"
    LATCHED = "latched"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out of service"

    @property
    def is_aside(self) -> bool:
        """Whether somebody put it aside, so that nobody is told of it: shelved, suppressed or out of service."""
        return self in {AlertState.SHELVED, AlertState.SUPPRESSED, AlertState.OUT_OF_SERVICE}


class Sure(StrEnum):
    """How sure a finding is of itself."""

    CERTAIN = "certain"
    LIKELY = "likely"
    POSSIBLE = "possible"
    NOT_KNOWN = "not known"

"""The settings as they are in force, said so that a page can show them: no secret is in it."""

from dataclasses import dataclass
from enum import StrEnum

from monitor.model.people import Rota, YardPerson


class Origin(StrEnum):
    """Where a setting's value comes from."""

    FILE = "file"
    ENVIRONMENT = "environment"
    DEFAULT = "default"


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting.

    Attributes:
        table: the settings file's table, such as ``yard.calendar``.
        key: its key there; empty where the table as a whole is not set.
        value: what is in force, in words; of a secret only whether there is one.
        origin: where it comes from.
    """

    table: str
    key: str
    value: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class InForce:
    """Everything the agent was told at its start.

    Attributes:
        file: the settings file, empty where there was none.
        settings: every setting but those of people and rota, in the order of the settings.
        people: the yard's people, how they are reached by their address as it may be shown.
        rota: who has the duty in which week.
    """

    file: str = ""
    settings: tuple[Setting, ...] = ()
    people: tuple[YardPerson, ...] = ()
    rota: Rota | None = None

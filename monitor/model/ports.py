"""Protocols through which the outer rooms meet without importing each other."""

from typing import Protocol

from monitor.model.vessel import Vessel


class Directory(Protocol):
    """Which vessels this yard has, in the record that is valid now."""

    def vessel(self, vessel_id: str) -> Vessel | None:
        """Give the valid record of a vessel, None where there is none of that id."""
        ...

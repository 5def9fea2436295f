"""Who may see what. Every route asks `may_see`, so that there is one place to change when people sign in."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends


@dataclass(frozen=True, slots=True)
class Viewer:
    """Whoever asks. Without sign-in it is whoever reaches the loopback address: the yard's own machine."""

    name: str = "this machine"


def may_see(viewer: Viewer, vessel_id: str | None) -> bool:  # noqa: ARG001 - nobody signs in yet: this machine sees all
    """Say whether this viewer may see this vessel; None stands for what belongs to the yard as a whole."""
    return True


def viewer() -> Viewer:
    """Give who asks."""
    return Viewer()


Asking = Annotated[Viewer, Depends(viewer)]

"""Who may see what. Every route asks `may_see`, so that there is one place to change."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from monitor.model.access import Grade, Known, Means
from monitor.web.deps import Deps
from monitor.web.door import HERE, let_in
from monitor.web.link_owners import still_shown


@dataclass(frozen=True, slots=True)
class Viewer:
    """Whoever asks.

    Attributes:
        known: who that is; None stands for a stranger.
        boats: the only vessels they may see; None where that is all, and the yard as a whole.
    """

    known: Known | None = HERE
    boats: frozenset[str] | None = None

    @property
    def signed_in(self) -> bool:
        """Whether they showed who they are themselves, and are not only at this machine."""
        return self.known is not None and self.known.means is not Means.MACHINE

    @property
    def is_owner(self) -> bool:
        """Whether they look as an owner does: how their boats stand, and nothing of how the yard works."""
        return self.known is not None and self.known.grade is Grade.OWNER

    @property
    def may_act(self) -> bool:
        """Whether they may act on alerts, and not only on what is handed to them."""
        return self.known is not None and self.known.grade.may(Grade.YARD)

    def is_manager(self, _name: str) -> bool:
        """Whether they may what managers may: by their grade, whatever they are called."""
        return self.known is not None and self.known.grade.may(Grade.MANAGER)

    def acts_as(self, written: str) -> str:
        """Give the name under which they do something: their own where they signed in, else what they wrote."""
        return self.known.name if self.known is not None and self.signed_in else written


def may_see(viewer: Viewer, vessel_id: str | None) -> bool:
    """Say whether this viewer may see this vessel; None stands for what belongs to the yard as a whole."""
    return viewer.boats is None or vessel_id in viewer.boats


def viewer(request: Request) -> Viewer:
    """Give who asks, where the route is for them."""
    known = let_in(request)
    return viewer_for(request.app.state.deps, known)


def viewer_for(deps: Deps, known: Known | None) -> Viewer:
    """Give what somebody may see as things stand now; None stands for a stranger."""
    return Viewer(known, _boats(known, deps))


def _boats(known: Known | None, deps: Deps) -> frozenset[str] | None:
    if known is None:
        return frozenset()
    if known.vessels is not None:
        return still_shown(deps.records, known.vessels, known.owners)
    if known.grade is Grade.OWNER:
        return deps.records.owned_by(known.email) if known.email else frozenset()
    return None


Asking = Annotated[Viewer, Depends(viewer)]

"""A link without a password shows a boat for as long as she is owned by whoever owned her when it was made.

Whoever has bought her must not be looked over the shoulder by whoever sold her. A boat that had no owner on record then
stays shown: nobody was named whose link it could be.
"""

from collections.abc import Iterable, Mapping

from monitor.model.vessel import Person
from monitor.model.views import RecordView


def owners_of(records: RecordView, vessels: Iterable[str]) -> dict[str, str]:
    """Give who owns each of some vessels now, as a link keeps it; those without an owner are left out."""
    owners = {vessel: _owner(records, vessel) for vessel in vessels}
    return {vessel: _key(owner) for vessel, owner in owners.items() if owner is not None}


def still_shown(records: RecordView, vessels: Iterable[str], owners: Mapping[str, str]) -> frozenset[str]:
    """Give which of a link's vessels it still shows.

    Args:
        records: the records as they are now.
        vessels: the link's.
        owners: who owned each of them when it was made.
    """
    return frozenset(v for v in vessels if v not in owners or _is_same(_owner(records, v), owners[v]))


def _owner(records: RecordView, vessel: str) -> Person | None:
    stored = records.record(vessel)
    return None if stored is None else stored.vessel.owner


def _is_same(owner: Person | None, key: str) -> bool:
    """Say whether an owner is the one of a key: by address, or by name where they have another address now."""
    if owner is None:
        return False
    (name, email), (was_name, was_email) = _key(owner).split("\n"), key.split("\n")
    return name == was_name or (bool(email) and email == was_email)


def _key(owner: Person) -> str:
    name = " ".join(owner.name.casefold().split())
    return f"{name}\n{(owner.email or '').casefold()}"

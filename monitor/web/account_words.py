"""What is said of an account that is put down: what changed of it, and how the records write an owner."""

from monitor.model.access import Account
from monitor.model.views import RecordView


def put_words(before: Account, now: Account) -> str:
    """Say what changed of somebody who could sign in already.

    >>> from monitor.model.access import Grade
    >>> put_words(Account("perrin", "Perrin", Grade.OWNER, "p@a.example"), Account("perrin", "Perrin", Grade.YARD))
    'perrin: was owner, is yard now; e-mail was p@a.example, is none now'
    """
    pairs = (
        ("", before.grade.value, now.grade.value),
        ("name ", before.name, now.name),
        ("e-mail ", before.email or "none", now.email or "none"),
    )
    changed = [f"{what}was {was}, is {new} now" for what, was, new in pairs if was != new]
    return f"{now.login}: {'; '.join(changed)}" if changed else f"{now.login} was there already: nothing is changed"


def owner_name(records: RecordView, email: str) -> str | None:
    """Give how the records write the owner of an address; None where none names one."""
    for vessel in sorted(records.owned_by(email)):
        stored = records.record(vessel)
        if stored is not None and stored.vessel.owner is not None:
            return stored.vessel.owner.name
    return None

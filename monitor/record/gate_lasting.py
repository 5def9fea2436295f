"""What stays on the spring list though the record no longer has it, and since when what was said of it counts."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from monitor.model.views import StoredRecord
from monitor.record.gate_item import GateItem


@dataclass(frozen=True, slots=True)
class Wanted:
    """An item as one version of the record asks for it.

    Attributes:
        item: the item.
        opened: whether it stands open by that version.
    """

    item: GateItem
    opened: bool = True


def lasting(
    versions: Sequence[StoredRecord],
    of: Callable[[StoredRecord], Iterable[Wanted]],
    stays: Callable[[GateItem, StoredRecord], bool],
) -> Iterator[GateItem]:
    """Give what any version asked for, as the last that asked has it.

    What was opened, opened again or written otherwise counts from there: what was said before was of another thing.

    Args:
        versions: the winter's, oldest first.
        of: what a version asks for.
        stays: whether an item stays on the list though the valid version, which is given, no longer asks for it.
    """
    known: dict[str, GateItem] = {}
    open_before: set[str] = set()
    for stored in versions:
        now = {wanted.item.id: wanted for wanted in of(stored)}
        for key, wanted in now.items():
            before = known.get(key)
            anew = before is None or _plain(before.what) != _plain(wanted.item.what)
            if anew or (wanted.opened and key not in open_before):
                known[key] = replace(wanted.item, since_ms=stored.from_ms)
            elif before is not None:
                known[key] = replace(wanted.item, since_ms=before.since_ms, why=before.why)
        open_before = {key for key, wanted in now.items() if wanted.opened}
    valid = versions[-1]
    last = {wanted.item.id for wanted in of(valid)}
    for key, item in known.items():
        if key in last or item.done is not None:
            yield item
        elif stays(item, valid):
            yield replace(item, why=f"{item.why}; her record no longer has it, which closes nothing")


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()

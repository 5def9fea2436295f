"""What can be chosen from the same record: a sensor of the right quantity, or a space."""

from monitor.model.vessel import Vessel
from monitor.web.form_fields import FormField


def linked_choices(record: Vessel, one: FormField, own: str | None) -> list[tuple[str, str]]:
    """Give value and words of each choice; an entry is never offered itself."""
    if "spaces" in one.words:
        return [(space.id, space.name) for space in record.spaces]
    sensors = [s for s in record.sensors if one.quantity is None or s.quantity is one.quantity]
    if "sensors" in one.words:
        sensors = [s for s in sensors if s.id != own]
    return [(s.id, f"{s.place} ({s.id})") for s in sensors]

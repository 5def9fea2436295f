"""The words of an owner's page, from ``messages/<language>/owner.toml``: for somebody who is no engineer."""

from functools import cache

from jinja2 import Template

from monitor.messages.phrases import FALLBACK_LANGUAGE, common, environment, raw_words
from monitor.messages.plain import capital, one_line
from monitor.model.equipment import LiquidSystem
from monitor.model.finding import Finding
from monitor.model.vessel import Vessel

LONGEST = 600
_ANY = "any"


def say(*keys: str, **names: object) -> str:
    """Give a text of the owner's words by its path, with its names put in, as one line that begins with a capital.

    Raises:
        KeyError: where there is none; a test walks every code.
    """
    return capital(within(*keys, **names))


def within(*keys: str, **names: object) -> str:
    """Give a text as `say` does, for the inside of a sentence."""
    plain = {k: one_line(v, LONGEST) if isinstance(v, str) else v for k, v in names.items()}
    return one_line(_template(keys).render(plain), LONGEST)


def letter(*keys: str, **names: object) -> str:
    """Give a sentence of the messages that an owner is sent, so that page and letter say it alike."""
    return common(FALLBACK_LANGUAGE).template(*keys).render(names)


def has_words(rule: str, kind: str) -> bool:
    """Say whether a kind of a rule's findings has words of its own here."""
    return kind in raw_words("owner", FALLBACK_LANGUAGE)["kinds"].get(rule, {})


def what_is(finding: Finding, vessel: Vessel, *, over: bool) -> str:
    """Say what a finding means for a boat, without a full stop; ``over``: whether its cause has gone."""
    if not has_words(finding.rule, finding.kind):
        return say("kinds", _ANY, "over" if over else "stands")
    thing, facts = thing_of(finding, vessel), finding.facts
    return say(
        *("kinds", finding.rule, finding.kind),
        thing=thing,
        Thing=capital(thing),
        over=over,
        frozen=bool(facts.get("frozen")),
        wet=facts.get("how") == "wet",
        begun=bool(facts.get("begun")),
        back=bool(facts.get("heard_again_ms")),
    )


def thing_of(finding: Finding, vessel: Vessel) -> str:
    """Give what a finding is about in plain words: never an id."""
    subject = finding.subject
    for system in vessel.liquid_systems:
        if system.id == subject:
            return system_thing(system)
    for kind, things in (
        ("battery", vessel.batteries),
        ("bilge", vessel.bilges),
        ("space", vessel.spaces),
        ("kit", vessel.safety_kit),
    ):
        for thing in things:
            if thing.id == subject:
                return within("things", kind, name=lowered(thing.name))
    sensor = vessel.sensor(subject)
    if sensor is not None:
        return within("watched", sensor.quantity.value) + f", {short_place(sensor.place)}"
    name = finding.facts.get("name")
    return within("things", "battery", name=lowered(name)) if isinstance(name, str) and name else say_any()


def say_any() -> str:
    """Give what stands in for a thing that nothing is known of."""
    return within("things", _ANY)


def system_thing(system: LiquidSystem) -> str:
    """Give a liquid system in plain words."""
    return within("things", system.kind.value)


def short_place(place: str) -> str:
    """Give the first words of a sensor's place, as the charts name it.

    >>> short_place("Saloon, under the table")
    'saloon'
    """
    return lowered(place.split(",", 1)[0].strip())


def lowered(name: str) -> str:
    """Give a name for the inside of a sentence: its capital goes where it is no abbreviation.

    >>> lowered("Main bilge"), lowered("VHF battery")
    ('main bilge', 'VHF battery')
    """
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def listed(names: list[str]) -> str:
    """Join names: ``Anna``, ``Anna and Per``, ``Anna, Per and Ilse``."""
    return names[0] if len(names) == 1 else letter("who", "both", first=", ".join(names[:-1]), last=names[-1])


@cache
def _template(keys: tuple[str, ...]) -> Template:
    found = raw_words("owner", FALLBACK_LANGUAGE)
    for key in keys:
        found = found[key]
    return environment(FALLBACK_LANGUAGE).from_string(str(found))

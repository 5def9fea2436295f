"""Who has the duty when, who an owner is, and how everybody is reached."""

from datetime import UTC, datetime, time

import pytest

from monitor.model.people import Channel, ChannelKind, Duty, Role, Rota, YardPerson
from monitor.model.roster import Roster, channels
from monitor.model.vessel import Person

ANNA = YardPerson(id="anna", name="Anna", email="anna@yard.example", roles=(Role.DUTY,))
BEN = YardPerson(id="ben", name="Ben", email="ben@yard.example")
CARL = YardPerson(id="carl", name="Carl", email="carl@yard.example", roles=(Role.MANAGER,))
PEOPLE = (ANNA, BEN, CARL)
ROTA = Rota(
    usual=Duty(first=("anna",), second=("ben",)),
    weeks={"2027-W02": Duty(first=("ben", "carl"))},
    changes_at=time(8),
)


def at(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


@pytest.mark.parametrize(
    ("when", "first"),
    [
        ("2027-01-11T07:59", ("anna",)),
        ("2027-01-11T08:00", ("ben", "carl")),
        ("2027-01-18T07:59", ("ben", "carl")),
        ("2027-01-18T08:00", ("anna",)),
    ],
)
def test_a_week_of_duty_begins_on_monday_when_the_duty_changes(when: str, first: tuple[str, ...]) -> None:
    roster = Roster(PEOPLE, ROTA, zone="UTC")
    assert tuple(person.id for person in roster.first(at(when))) == first


def test_the_duty_changes_by_the_yards_own_clock() -> None:
    roster = Roster(PEOPLE, ROTA, zone="Europe/Helsinki")
    assert roster.first(at("2027-01-11T05:59")) == (ANNA,)
    assert roster.first(at("2027-01-11T06:00")) == (BEN, CARL)


def test_what_a_week_does_not_name_is_as_usual() -> None:
    assert Roster(PEOPLE, ROTA).second(at("2027-01-13T12:00")) == (BEN,)


def test_without_a_rota_the_simple_list_is_told_first_and_nobody_second() -> None:
    roster = Roster.of(PEOPLE, Rota(), (Person(name="Phone", email="p@yard.example"),), "UTC")
    assert [(p.name, p.email) for p in roster.first(0)] == [("Phone", "p@yard.example")]
    assert roster.second(0) == ()


def test_who_of_the_simple_list_is_one_of_the_people_is_that_one() -> None:
    roster = Roster.of(PEOPLE, Rota(), (Person(name="A.", email="ANNA@yard.example"),), "UTC")
    assert roster.first(0) == (ANNA,)


def test_every_manager_is_told_last_where_the_rota_names_none() -> None:
    assert Roster(PEOPLE, ROTA).manager(0) == (CARL,)
    assert Roster(PEOPLE, Rota(usual=Duty(manager=("ben",)))).manager(0) == (BEN,)


def test_somebody_is_found_by_id_and_by_name_in_any_case() -> None:
    roster = Roster(PEOPLE, ROTA)
    assert roster.person("ben") == roster.person("BEN") == BEN
    assert roster.person("zoe") is None


INVENTED = (
    YardPerson(id="anna", name="Anna Invented"),
    YardPerson(id="joss", name="Joss Reed-Hall"),
    YardPerson(id="jo", name="Jo Farrier", roles=(Role.MANAGER,)),
    YardPerson(id="mf", name="Mary Ann Farrier"),
)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("ANNA", ["Anna Invented"]),
        ("  anna   INVENTED ", ["Anna Invented"]),
        ("Anna", ["Anna Invented"]),
        ("inv", ["Anna Invented"]),
        ("A. Invented", ["Anna Invented"]),
        ("ann", ["Mary Ann Farrier"]),  # a whole word comes before the beginning of one
        ("JO", ["Jo Farrier"]),
        ("jos", ["Joss Reed-Hall"]),
        ("MF", ["Mary Ann Farrier"]),
        ("farrier", ["Jo Farrier", "Mary Ann Farrier"]),
        ("Farrier Jo", []),
        ("Anna Other", []),
        ("  ", []),
    ],
)
def test_somebody_is_meant_by_what_people_write(written: str, meant: list[str]) -> None:
    roster = Roster(INVENTED)
    assert [person.name for person in roster.meant(written)] == meant
    found = roster.person(written)
    assert (found and found.name) == (meant[0] if len(meant) == 1 else None)


def test_an_accent_is_the_same_however_it_is_written() -> None:
    asa = YardPerson(id="asa", name="\u00c5sa Invented")
    assert Roster((asa,)).person("A\u030asa") == asa


def test_an_owner_is_meant_aboard_their_own_boat() -> None:
    roster = Roster(PEOPLE, ROTA)
    olga = Person(name="Olga Invented", email="olga@example.org")
    assert roster.meant("olga") == ()
    assert [person.name for person in roster.meant("olga", olga)] == ["Olga Invented"]
    # Who owns her and is one of the yard is one, whichever of their names is written.
    assert roster.meant("Benjamin", Person(name="Benjamin", email="BEN@yard.example")) == (BEN,)
    assert roster.meant("ben", Person(name="Ben B.", email="ben@yard.example")) == (BEN,)


def test_only_a_manager_may_take_out_of_service() -> None:
    roster = Roster(PEOPLE, ROTA)
    assert [roster.is_manager(who) for who in ("Carl", "CARL ", "anna", "zoe")] == [True, True, False, False]


def test_an_owner_is_the_person_of_the_same_address_else_one_of_their_own() -> None:
    roster = Roster(PEOPLE, ROTA)
    assert roster.owner(Person(name="B. Owner", email="Ben@Yard.example")) == BEN
    other = roster.owner(Person(name="Olga", email="olga@example.org"))
    assert (other.name, other.email, other.channels) == ("Olga", "olga@example.org", ())


def test_each_address_is_used_once_e_mail_first() -> None:
    ring = Channel(kind=ChannelKind.WEBHOOK, address="https://hooks.example/A", rings=True)
    again = Channel(kind=ChannelKind.EMAIL, address="ANNA@yard.example")
    other = Channel(kind=ChannelKind.WEBHOOK, address="https://hooks.example/a")
    reached = list(channels(ANNA.model_copy(update={"channels": (ring, again, other, ring)})))
    assert [(c.kind, c.address) for c in reached] == [
        (ChannelKind.EMAIL, "anna@yard.example"),
        (ChannelKind.WEBHOOK, "https://hooks.example/A"),
        (ChannelKind.WEBHOOK, "https://hooks.example/a"),
    ]

"""Names as people write them become the names of the settings."""

import pytest

from monitor.model.inputs import Acknowledge, HandOver, TakeOut
from monitor.model.named import NamingError, can_be_handed_to, is_stranger, named, to_whom, who
from monitor.model.only_managers import refused_to
from monitor.model.people import Role, Rota, YardPerson
from monitor.model.roster import Roster
from monitor.model.vessel import Person

ANNA = YardPerson(id="anna", name="Anna Invented", email="anna@yard.example")
BEN = YardPerson(id="ben", name="Ben Invented", email="ben@yard.example", roles=(Role.MANAGER,))
ROSTER = Roster.of((ANNA, BEN), Rota(), (Person(name="Watch Phone", email="phone@yard.example"),), "UTC")
OLGA = Person(name="Olga Owner", email="olga@example.org")


def over(by: str, to: str) -> HandOver:
    return HandOver("tern", "a1", 0, by, to)


@pytest.mark.parametrize("written", ["ANNA", "anna", " Anna  Invented", "Anna"])
def test_a_command_carries_the_name_of_the_settings_whatever_was_typed(written: str) -> None:
    assert named(Acknowledge("tern", "a1", 0, written), ROSTER).actor == "Anna Invented"
    handed = named(over("ben", written), ROSTER)
    assert handed == over("Ben Invented", "Anna Invented")


def test_a_name_that_could_be_two_is_refused_with_both() -> None:
    says = "'invented' could be Anna Invented or Ben Invented: write more of the name"
    with pytest.raises(NamingError, match=says) as no:
        named(Acknowledge("tern", "a1", 0, "invented"), ROSTER)
    assert no.value.key == "name"
    with pytest.raises(NamingError, match="could be") as no:
        named(over("ben", "invented"), ROSTER)
    assert no.value.key == "to"


def test_the_beginning_of_a_name_is_enough_for_whom_and_not_for_who() -> None:
    """A visitor may be called so: nobody is to act as somebody else by it."""
    assert named(over("be", "ann"), ROSTER) == over("be", "Anna Invented")
    assert not ROSTER.is_manager("be")
    assert ROSTER.is_manager("BEN")
    assert ROSTER.whole("ann") is None


def test_whoever_signed_in_keeps_their_name() -> None:
    assert named(Acknowledge("tern", "a1", 0, "Anna"), ROSTER, signed_in=True).actor == "Anna"


def test_a_visitor_may_do_something_and_is_known_as_one() -> None:
    assert who(" Zoe  Rigger ", ROSTER) == "Zoe Rigger"
    assert [is_stranger(name, ROSTER) for name in ("Zoe Rigger", "BEN", "phone")] == [True, False, False]
    assert not is_stranger("Zoe Rigger", Roster())


def test_nothing_is_handed_to_somebody_whom_nobody_knows() -> None:
    with pytest.raises(NamingError, match=r"nobody called 'Zoe': there is Anna Invented, Ben Invented, Watch Phone$"):
        named(over("ben", "Zoe"), ROSTER)


def test_it_can_be_handed_to_the_owner_of_that_boat_and_of_no_other() -> None:
    assert named(over("ben", "olga"), ROSTER, OLGA) == over("Ben Invented", "Olga Owner")
    with pytest.raises(NamingError, match="nobody called 'olga'"):
        named(over("ben", "olga"), ROSTER)
    assert [p.name for p in can_be_handed_to(ROSTER, OLGA)][-2:] == ["Watch Phone", "Olga Owner"]
    assert len(can_be_handed_to(ROSTER, Person(name="A. I.", email="ANNA@yard.example"))) == 3


def test_nothing_is_handed_to_oneself() -> None:
    with pytest.raises(NamingError, match="Anna Invented would hand it over to themselves"):
        named(over("anna", "ANNA INVENTED"), ROSTER)
    with pytest.raises(NamingError, match="themselves"):
        named(over("Zoe", "zoe"), Roster())


def test_where_the_settings_name_nobody_every_name_stands_as_written() -> None:
    assert to_whom(" Joss  Reed", Roster(), OLGA) == "Joss Reed"
    assert can_be_handed_to(Roster(), OLGA) == ()


@pytest.mark.parametrize("written", ["ben", "BEN", "ben invented", "Ben"])
def test_a_manager_is_one_however_the_name_is_written(written: str) -> None:
    out = TakeOut("tern", "a1", 0, written, "float is broken")
    assert refused_to(out, None, ROSTER.is_manager) is None
    assert "Anna is no manager" in (refused_to(TakeOut("tern", "a1", 0, "Anna", "x"), None, ROSTER.is_manager) or "")

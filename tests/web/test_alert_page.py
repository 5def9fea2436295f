"""Why this alert: a page of its own, and the rules' pages, for the yard and for owners."""

import html
import re
import tomllib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from importlib import resources
from pathlib import Path

import httpx
import pytest
from yards import HOUR_MS, NOW_MS, Yard, frost, record

from monitor.messages import words
from monitor.model.alert import Alert, AlertChange
from monitor.model.scale import AlertState, Priority
from monitor.model.vessel import Card, Person
from monitor.store.access import AccessFile
from monitor.web import Deps
from monitor.web.alert_limits import HANGS_ON
from monitor.web.door import wall_ms
from monitor.web.rule_text import LIMITS_OF, formula, rule_page, when_told

BOAT = "amber-lark"


def text_of(page: str) -> str:
    return re.sub(r" (?=[.,;])", "", html.unescape(" ".join(re.sub(r"<[^>]*>", " ", page).split())))


def alert_of(yard: Yard, vessel: str = BOAT, subject: str = "closed-cooling") -> Alert:
    return next(a for a in yard.alerts.values() if a.vessel == vessel and a.subject == subject)


@pytest.fixture
def why(yard: Yard, client: httpx.Client) -> str:
    """The page of Amber Lark's alarm."""
    return client.get(f"/alerts/{alert_of(yard).id}").text


def kinds() -> Iterator[tuple[str, str]]:
    """Every kind of every rule that has words."""
    for name in LIMITS_OF:
        file = resources.files("monitor.messages") / "en" / f"{name}.toml"
        if file.is_file():
            yield from ((name, kind) for kind in tomllib.loads(file.read_text())["kinds"])


def test_the_page_says_first_how_it_stands_then_what_it_tells_then_why(why: str) -> None:
    text = text_of(why)
    parts = (
        "Act now Open since 14:02. Not seen yet.",
        "What it tells It is −9.1 °C at the engine closed cooling.",  # noqa: RUF001
        "Do first Test it",
        "Why this alert",
        "What happened to it",
    )
    assert [text.index(part) for part in parts] == sorted(text.index(part) for part in parts)


def test_the_figures_stand_with_their_limit_and_what_is_between_them(why: str) -> None:
    assert "Measured −9.1 °C −8.0 °C −1.1 degrees" in text_of(why)  # noqa: RUF001


def test_each_reading_leads_to_the_charts_at_its_time(why: str, client: httpx.Client) -> None:
    assert "Engine space, temperature: −9.1 °C, 18:01" in text_of(why)  # noqa: RUF001
    target = html.unescape(re.findall(r'<a href="([^"]+)">Charts at that time', why)[0])
    assert target == "/vessels/amber-lark?from=2013-12-09T06:01&to=2013-12-09T19:01#charts"
    assert client.get(target).status_code == 200


def test_the_lines_of_the_record_say_how_far_off_a_test_may_be(why: str) -> None:
    text = text_of(why)
    tested = "treated with ethylene glycol, tested to −8.0 °C by refractometer on 29 Oct 2013"  # noqa: RUF001
    assert f"Engine closed cooling {tested}, which may be 1.0 degrees out Thermometer: engine space" in text
    assert "Sensor: engine space temperature, every 60 minutes, may be 0.5 K out; fed by own cell" in text
    assert "Version 1 of her lay-up record, by Hanno Brightwell" in text


def test_the_limits_have_source_and_reason_and_lead_to_the_rules_page(why: str, client: httpx.Client) -> None:
    text = text_of(why)
    assert "margin warning 0 K common practice, no source inside the errors of tester and thermometer" in text
    assert "It is told when: a treated system: less than 5 K left over its tested point" in text
    assert "Margin = temperature there - freezing point - tester's error - thermometer's error." in text
    page = client.get("/rules/frost").text
    for row in re.findall(r'href="/rules/frost#(limit-\w+)"', why):
        assert f'id="{row}"' in page


def test_the_record_is_the_one_that_was_valid_then(yard: Yard, client: httpx.Client) -> None:
    ended = alert_of(yard, "fern-island")
    yard.lay_up(record("fern-island", "Fern Island", engineer="Enid Invented"), at_ms=yard.now_ms - HOUR_MS)
    text = text_of(client.get(f"/alerts/{ended.id}").text)
    assert "Version 1 of her lay-up record" in text
    assert "Over It stood from Sun 02:02 to Sun 12:02." in text
    assert "I have seen this" not in text


def test_what_was_done_is_its_history_and_its_forms_are_here(yard: Yard, client: httpx.Client) -> None:
    found = alert_of(yard, "barley-moon")
    page = client.get(f"/alerts/{found.id}").text
    assert "Seen by Wilf Sandring 17:02." in text_of(page)
    assert "Seen by Wilf Sandring: going after lunch" in text_of(page)
    assert f'action="/alerts/{found.id}/hand-over"' in page
    assert f'href="/alerts/{found.id}/incident.zip"' in page


def test_her_card_stands_on_the_page(yard: Yard, client: httpx.Client) -> None:
    yard.lay_up(record(BOAT, "Amber Lark", "B0", card=Card(keys="Yard office, hook 14")), at_ms=yard.now_ms)
    assert "Her card Keys Yard office, hook 14" in text_of(client.get(f"/alerts/{alert_of(yard).id}").text)


def test_one_that_has_stood_for_long_leads_to_the_charts_when_it_opened(yard: Yard, client: httpx.Client) -> None:
    found = yard.open_alert(BOAT, replace(frost(Priority.CAUTION), subject="heads"), 20 * 24 * HOUR_MS)
    page = client.get(f"/alerts/{found.id}").text
    target = "?from=2013-11-19T06:02&amp;to=2013-11-20T06:02#charts"
    assert f'<a href="/vessels/{BOAT}{target}">Her charts when it opened</a>' in page
    assert "Her charts when it opened" not in client.get(f"/alerts/{alert_of(yard).id}").text


def test_one_that_is_put_aside_says_so(yard: Yard, client: httpx.Client) -> None:
    found = alert_of(yard)
    found.state, found.aside_by, found.aside_why = AlertState.SHELVED, "Wilf Sandring", "heater on order"
    found.aside_until_ms = NOW_MS + 5 * HOUR_MS
    yard.happens(found, AlertChange.SHELVED, NOW_MS - HOUR_MS, "Wilf Sandring", "heater on order")
    assert "Put aside by Wilf Sandring until 23:02: heater on order." in text_of(client.get(f"/alerts/{found.id}").text)


def test_an_alert_without_readings_or_charts_has_a_page_too(yard: Yard, client: httpx.Client) -> None:
    text = text_of(client.get(f"/alerts/{alert_of(yard, 'copper-wren', 'gateway').id}").text)
    assert "Nothing is heard from her" in text
    assert "On none: it is about what the record says, or about what is not heard." in text
    assert "gateway ashore 12 h" in text
    assert "Its readings" not in text


def test_the_watchs_own_word_has_no_rule_and_says_so(yard: Yard, client: httpx.Client) -> None:
    own = replace(frost(Priority.CAUTION), rule="watch", subject="frost", kind="stumbled", rests_on=())
    found = yard.open_alert(BOAT, own)
    assert "This is the watch's own word about itself" in text_of(client.get(f"/alerts/{found.id}").text)


def test_the_page_leads_back_and_is_led_to(yard: Yard, client: httpx.Client) -> None:
    found = alert_of(yard)
    link = f'href="/alerts/{found.id}"'
    assert link in client.get(f"/vessels/{BOAT}").text
    assert f'href="/alerts/{alert_of(yard, "fern-island").id}"' in client.get("/vessels/fern-island").text
    assert f'href="/vessels/{BOAT}"' in client.get(f"/alerts/{found.id}").text


def test_an_alert_that_is_not_there_is_said_to_be_not_there(client: httpx.Client) -> None:
    answer = client.get("/alerts/0123456789abcdef")
    assert answer.status_code == 404
    assert "There is no alert &#39;0123456789abcdef&#39;." in answer.text


@pytest.fixture
def hers(yard: Yard, deps: Deps, tmp_path: Path, ask: Callable[[Deps], httpx.Client]) -> Iterator[httpx.Client]:
    """A client on which the owner of Amber Lark is signed in by a link of the yard's."""
    from monitor.model.access import Account, Grade

    olga = Account("olga@example.org", "Olga Invented", Grade.OWNER, "olga@example.org")
    yard.lay_up(record(BOAT, "Amber Lark", "B0", owner=Person(name="Olga Invented", email="olga@example.org")))
    with closing(AccessFile(tmp_path / "access.sqlite", bytes(32))) as access:
        access.put(olga, wall_ms())
        client = ask(replace(deps, access=access, address=lambda: "https://boats.example"))
        session = access.take_up(access.invite(olga.login, wall_ms()), olga, "four wet dogs ashore", wall_ms())
        assert session is not None
        client.cookies.set("coldberth", session)
        yield client


def test_an_owner_reads_it_plainly_and_finds_nothing_of_how_the_yard_works(yard: Yard, hers: httpx.Client) -> None:
    found = alert_of(yard)
    yard.happens(found, AlertChange.ACKNOWLEDGED, NOW_MS, "Wilf Sandring", "not for her owner's eyes")
    page = hers.get(f"/alerts/{found.id}").text
    text = text_of(page)
    for part in ("Please do not board.", "What it tells", "Measured −9.1 °C", "What the record says of it"):  # noqa: RUF001
        assert part in text
    for part in (
        "not for her owner",
        "I have seen this",
        "Incident pack",
        "Her card",
        "What happened to it",
        "Do first",
    ):
        assert part not in text
    assert hers.get(f"/alerts/{found.id}/incident.zip").status_code == 403


def test_an_owner_sees_the_rules_and_no_other_boats_alert(yard: Yard, hers: httpx.Client) -> None:
    assert hers.get("/rules/frost").status_code == 200
    assert hers.get(f"/alerts/{alert_of(yard, 'barley-moon').id}").status_code == 404


@pytest.mark.parametrize(("rule", "kind"), list(kinds()))
def test_every_kind_names_the_limits_it_hangs_on_and_they_are_in_the_table(rule: str, kind: str) -> None:
    names = {row.name for row in LIMITS_OF[rule]}
    assert set(HANGS_ON[rule][kind]) <= names


@pytest.mark.parametrize("rule", [name for name in LIMITS_OF if name != "quality"])
def test_most_kinds_have_their_when_in_words_and_the_rule_its_formula(rule: str) -> None:
    told = [kind for name, kind in kinds() if name == rule and kind not in {"not known", "drying not known"}]
    assert [kind for kind in told if not when_told(rule, kind)] in ([], ["charge not known"])
    assert len(formula(rule)) > 100


@pytest.mark.parametrize("name", list(LIMITS_OF))
def test_each_rule_has_its_page_with_the_limits_of_the_program(client: httpx.Client, name: str) -> None:
    page = client.get(f"/rules/{name}").text
    assert rule_page(name).title in html.unescape(page)
    for row in LIMITS_OF[name]:
        assert f'id="limit-{row.name}"' in page
        assert row.reason == "-" or row.reason in html.unescape(page)
    for part in ("What it watches", "Formula", "What it cannot know"):
        assert part in text_of(page)
    assert not re.search(r'href="[^"h/][^"]*\.md', page)  # no link leads to a file that is not served
    assert "<!--" not in page[page.index("<main") :]


def test_the_rules_are_listed_and_a_wrong_name_is_said(client: httpx.Client) -> None:
    page = client.get("/rules").text
    assert all(f'href="/rules/{name}"' in page for name in LIMITS_OF)
    assert client.get("/rules/none").status_code == 404


def test_html_in_a_page_would_stand_there_as_text() -> None:
    from monitor.web.rule_text import _html

    assert "<script>" not in _html("A <script>alert(1)</script> and [a](javascript:alert(1))")
    assert "javascript:" not in re.sub(r">[^<]*<", "><", _html("[a](javascript:alert(1))"))


def test_no_alert_of_the_small_yard_lacks_words(yard: Yard, client: httpx.Client) -> None:
    words.missing.clear()
    for alert in yard.alerts.values():
        assert client.get(f"/alerts/{alert.id}").status_code == 200
    assert dict(words.missing) == {}

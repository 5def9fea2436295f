"""The coolant page over the real app and a real journal, in a browser and without JavaScript; and its command."""

import re
from collections.abc import Callable
from dataclasses import replace

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import Window
from yards import HOUR_MS, NOW_MS, Yard, frost, reading, record

from monitor.cli import main
from monitor.model.access import Grade, Known, Means
from monitor.model.equipment import Liquid, SystemKind
from monitor.model.scale import Priority
from monitor.record.coolant_answer import Sum
from monitor.record.coolant_figures import MINUS
from monitor.record.coolant_says import BESIDE
from monitor.web import door as doors

Open = Callable[..., Window]
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
HERS = "/coolant?vessel=fern-island&system=closed-cooling"
REPLACE = "/coolant?sum=replace&glycol=ethylene+glycol&system_l=12&now=25&now_as=volume&wanted=-25&fill=100"


def headline(page: str) -> str:
    found = re.search(r'class="coolant-headline"><b>(.*?)</b>', page)
    return found[1] if found else ""


@pytest.mark.parametrize("which", list(Sum))
def test_each_sum_has_its_formula_its_example_and_its_sources(client: httpx.Client, which: Sum) -> None:
    page = client.get("/coolant", params={"sum": which.value})
    assert page.status_code == 200
    assert headline(page.text) == ""
    assert "Not worked out" not in page.text
    assert BESIDE[which].worked.split(".")[0] in page.text
    assert "ASHRAE" in page.text
    assert "Ethylene glycol is poisonous" in page.text
    assert "engine maker&#39;s book goes first" in page.text or "engine maker's book goes first" in page.text
    assert not re.search(r"\bsafe\b", page.text, re.IGNORECASE)
    worked = re.search(r'href="(/coolant\?[^"]+)">Work it out here', page.text)
    assert worked is not None
    answered = client.get(worked[1].replace("&amp;", "&"))
    assert answered.status_code == 200
    figure = re.findall(r"\d+(?:\.\d+)?", BESIDE[which].worked)[-1]
    assert figure in headline(answered.text)


def test_an_address_says_all_and_can_be_sent(client: httpx.Client) -> None:
    page = client.get(REPLACE)
    assert headline(page.text) == "Drain 2.6 L, and fill 2.6 L of neat concentrate."
    assert f"41.2 % by volume: count on {MINUS}25 °C" in page.text


def test_a_comma_a_true_minus_and_a_unit_are_read(client: httpx.Client) -> None:
    asked = {"sum": "replace", "system_l": "12,0 L", "now": "25 %", "wanted": f"{MINUS}25 °C", "fill": "100"}
    assert headline(client.get("/coolant", params=asked).text).startswith("Drain 2.6 L")


WRONG = [
    ({"sum": "point", "strength": "70"}, "strength", "protects less again"),
    ({"sum": "point", "strength": "half"}, "strength", "is no number"),
    ({"sum": "strength", "tested": "25"}, "tested", "write the minus"),
    ({"sum": "left", "poured": "50", "poured_l": "8", "left_l": ""}, "left_l", "write it in L"),
    ({"sum": "mix", "system_l": "10", "wanted": "-30", "fill": "30"}, "fill", "too weak"),
]


@pytest.mark.parametrize(("asked", "key", "words"), WRONG)
def test_what_cannot_be_worked_out_says_why_beside_its_field_and_keeps_what_was_typed(
    client: httpx.Client, asked: dict[str, str], key: str, words: str
) -> None:
    page = client.get("/coolant", params=asked)
    assert page.status_code == 422
    assert headline(page.text) == ""
    assert f'id="wrong-{key}"' in page.text
    assert words in page.text
    for typed in asked.values():
        assert f'value="{typed}"' in page.text


def test_her_record_fills_it_in_and_the_coldest_heard_is_held_against_it(yard: Yard, client: httpx.Client) -> None:
    yard.hear([reading("fern-island", "engine-space", NOW_MS - HOUR_MS, -4.0)])
    page = client.get(HERS).text
    assert f'name="tested" value="{MINUS}8"' in page
    assert headline(page).startswith(f"Count on {MINUS}7 °C")
    # Lowest -4.0, thermometer 0.5 K, counted on -7: 2.5 K, where 5 are wanted.
    assert f"Too little room: {MINUS}7 °C covers the coldest that is known of by only 2.5 degrees" in page
    assert f"Lowest since lay-up {MINUS}4 °C by its own thermometer" in page
    assert "How cold the rest of the winter gets is not known." in page
    assert 'href="/vessels/fern-island/record/liquid_systems/closed-cooling"' in page
    assert 'name="vessel" value="fern-island"' in page
    for which in Sum:
        assert f"/coolant?sum={which.value}&amp;glycol=ethylene+glycol&amp;vessel=fern-island" in page


def test_what_a_standing_frost_alert_foretells_counts_too(yard: Yard, client: httpx.Client) -> None:
    told = frost(Priority.WARNING)
    facts = {**told.facts, "foretold_low_degc": -12.0}
    yard.open_alert("fern-island", replace(told, subject="closed-cooling", facts=facts))
    page = client.get(HERS).text
    assert f"Not enough: {MINUS}7 °C falls short of the coldest that is known of, by 5 degrees." in page
    assert f"Foretold {MINUS}12 °C at the low end" in page


def test_water_that_is_drunk_takes_no_ethylene_glycol(yard: Yard, client: httpx.Client) -> None:
    her = record("brisk-tern", "Brisk Tern", "B11")
    system = her.liquid_systems[0].model_copy(update={"kind": SystemKind.FRESH_WATER, "id": "tank"})
    yard.lay_up(her.model_copy(update={"liquid_systems": (system,)}))
    asked = {"vessel": "brisk-tern", "system": "tank", "sum": "mix", "system_l": "10", "wanted": "-10"}
    refused = client.get("/coolant", params={**asked, "glycol": Liquid.ETHYLENE_GLYCOL.value})
    assert refused.status_code == 422
    assert "Ethylene glycol is poisonous" in refused.text
    assert 'id="wrong-glycol"' in refused.text
    assert client.get("/coolant", params={**asked, "glycol": Liquid.PROPYLENE_GLYCOL.value}).status_code == 200


@pytest.mark.parametrize("address", ["/coolant?vessel=nobody&system=x", "/coolant?vessel=amber-lark&system=x"])
def test_what_is_in_no_record_is_not_there(client: httpx.Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_an_owner_and_a_stranger_see_none_of_it(monkeypatch: pytest.MonkeyPatch, client: httpx.Client) -> None:
    monkeypatch.setattr(doors, "HERE", Known("Olga", Grade.OWNER, Means.MACHINE))
    assert client.get(HERS).status_code == 403
    monkeypatch.setattr(doors, "HERE", Known("Ben", Grade.YARD, Means.MACHINE, vessels=frozenset({"hazel-row"})))
    assert client.get(HERS).status_code == 404
    assert client.get(REPLACE).status_code == 200


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("address", [HERS, REPLACE, "/coolant?sum=left&poured=100&poured_l=4&left_l=x"])
def test_axe_finds_nothing_and_a_phone_scrolls_one_way(open_window: Open, address: str, scheme: str) -> None:
    window = open_window(address, width=360, scheme=scheme)
    found = Axe().run(window.page, options=AXE)
    assert found.violations_count == 0, found.generate_report()
    assert window.page.evaluate("document.documentElement.scrollWidth") <= 360
    low = window.page.evaluate(
        "[...document.querySelectorAll('main input:not([type=hidden]), main select, main button')]"
        ".filter(e => e.getBoundingClientRect().height < 44).length"
    )
    assert low == 0


@pytest.mark.browser
def test_it_works_without_javascript(open_window: Open) -> None:
    window = open_window(HERS, width=360, javascript=False)
    page = window.page
    page.get_by_role("link", name="How much to drain and replace?").click()
    page.get_by_label("What the system holds").fill("12")
    page.get_by_label("Wanted down to").fill("-25")
    page.get_by_role("button", name="Work it out").click()
    assert "vessel=fern-island" in page.url
    assert page.locator(".coolant-headline").inner_text().startswith("Drain ")
    assert "covers the coldest that is known of" in page.locator(".coolant-cover").inner_text()


def test_the_command_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["coolant", "replace", "--glycol", "ethylene", "--system-l", "12", "--now", "25", "--wanted", "-25"]
    assert main(asked) == 0
    said = capsys.readouterr().out
    assert said.startswith("Drain 2.6 L, and fill 2.6 L of neat concentrate.\n")
    assert "ASHRAE" in said
    assert "poisonous" in said
    assert main(["coolant", "point", "--glycol", "propylene", "--strength", "40", "--mass"]) == 0
    assert capsys.readouterr().out.startswith(f"Count on {MINUS}20 °C.\n")  # Melinder says -20.57, ASHRAE -21.1


def test_the_command_reads_a_comma_and_says_how_a_figure_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["coolant", "point", "--glycol", "ethylene", "--strength"]
    assert main([*asked, "40,0"]) == 0
    assert capsys.readouterr().out.startswith(f"Count on {MINUS}24 °C.\n")
    with pytest.raises(SystemExit):
        main([*asked, "40%"])
    assert "40% is no number: write 12.5 or 12,5 alone, without a unit" in capsys.readouterr().err


def test_the_command_refuses_in_words_and_names_the_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["coolant", "strength", "--glycol", "ethylene", "--tested", "nan"]) == 1
    assert capsys.readouterr().err.startswith("--tested: That is no number")
    assert main(["coolant", "point", "--glycol", "ethylene", "--strength", "80"]) == 1
    assert "protects less again" in capsys.readouterr().err

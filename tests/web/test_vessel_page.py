"""The vessel page, its charts and its acknowledgement, as a browser without JavaScript gets them."""

import html
import re
from dataclasses import replace

import httpx
import pytest
from yards import Yard, frost, record

from monitor.model.inputs import Acknowledge
from monitor.model.scale import Priority
from monitor.model.vessel import Card


def text_of(page: str) -> str:
    """Give a page's text, without markup."""
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", page).split()))


def worst(yard: Yard) -> str:
    """Give the id of Amber Lark's alarm."""
    return next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark" and a.subject == "closed-cooling")


def test_the_page_says_first_how_she_stands(client: httpx.Client) -> None:
    page = client.get("/vessels/amber-lark").text
    assert page.index('class="verdict act-now"') < page.index("Open alerts")
    assert "Act now Engine closed cooling is close to its freezing point (open since 14:02)" in text_of(page)


def test_an_alert_says_what_is_wrong_how_sure_how_long_and_what_to_do(client: httpx.Client) -> None:
    text = text_of(client.get("/vessels/amber-lark").text)
    for part in (
        "It is −9.1 °C at the engine closed cooling",  # noqa: RUF001
        "This is likely, not certain.",
        "Perhaps 3 to 9 hours until harm if nobody acts.",
        "Do first",
        "refractometer",
        "Do not start the engine while there may be slush in it.",
        "Likely causes",
        "Figures behind it",
        "Opened:",
    ):
        assert part in text


def test_her_card_stands_before_her_alerts(yard: Yard, client: httpx.Client) -> None:
    card = Card(keys="Yard office, hook 14", gas="Bottle ashore", instructions="Ring me before anything is drained.")
    yard.lay_up(record("amber-lark", "Amber Lark", "B0", card=card), at_ms=yard.now_ms)
    page = client.get("/vessels/amber-lark").text
    assert page.index('class="verdict') < page.index('id="card" open') < page.index("Open alerts")
    assert "Her card Keys Yard office, hook 14 Gas Bottle ashore" in text_of(page)
    assert "Ring me before anything is drained." in page
    assert "Ladder" not in text_of(page)


def test_a_boat_without_a_card_says_so_and_a_quiet_boats_card_is_folded(client: httpx.Client) -> None:
    assert "Her card No card:" in text_of(client.get("/vessels/amber-lark").text)
    assert 'id="card">' in client.get("/vessels/fern-island").text


def test_the_worst_alert_and_all_that_ask_to_act_now_stand_open_and_the_rest_is_folded(
    yard: Yard, client: httpx.Client
) -> None:
    yard.open_alert("amber-lark", replace(frost(Priority.ALARM), subject="heads"))
    page = client.get("/vessels/amber-lark").text
    alerts = page[page.index("Open alerts") : page.index('id="charts"')].split("<article")[1:]
    folded = ["What it tells, and what to do" in alert for alert in alerts]
    assert [('class="alert act-now"' in alert, fold) for alert, fold in zip(alerts, folded, strict=True)] == [
        (True, False),
        (True, False),
        (False, True),
    ]


def test_the_charts_of_the_trouble_come_first(yard: Yard, client: httpx.Client) -> None:
    def order() -> list[str]:
        return re.findall(r'data-chart="([\w-]+)"', client.get("/vessels/fern-island").text)

    assert order() == ["temperatures", "humidity", "dew-point", "volts", "bilge"]
    damp = replace(frost(Priority.WARNING), rule="damp", subject="saloon", kind="mould")
    yard.open_alert("fern-island", damp)
    assert order() == ["humidity", "dew-point", "temperatures", "volts", "bilge"]


def test_charts_of_which_nothing_was_heard_are_one_line(client: httpx.Client) -> None:
    page = client.get("/vessels/grey-heron").text
    named = "temperatures, relative humidity, dew point and coldest surface (reckoned), battery volts, bilge level"
    assert f"Nothing was heard in this time of: {named}." in text_of(page)
    assert "<figure>" not in page


def test_the_foot_says_that_going_aboard_is_not_replaced(client: httpx.Client) -> None:
    assert "it does not replace going aboard." in text_of(client.get("/vessels/fern-island").text)


def test_a_quiet_vessel_says_that_nothing_needs_doing_and_what_ended(client: httpx.Client) -> None:
    text = text_of(client.get("/vessels/fern-island").text)
    assert "Quiet Nothing needs doing; heard 18:00." in text
    assert "Open alerts" not in text
    assert "Sun 12:02" in text  # when the alert ended


def test_what_is_not_known_is_listed(client: httpx.Client) -> None:
    assert "Not known ? Engine closed cooling: temperature not known" in text_of(client.get("/vessels/iris-day").text)


def test_the_record_is_readable_and_sensors_say_their_last_value(client: httpx.Client) -> None:
    text = text_of(client.get("/vessels/amber-lark").text)
    assert "Engine closed cooling treated, protected to −8.0 °C" in text  # noqa: RUF001
    assert "Tag 7: Impeller is in the galley drawer due before lift" in text
    assert "Cockpit drains open Ashore: rain runs out through them" in text
    assert "Bilge level 61 mm 18:00" in text
    assert "Bilge float switch down 18:00" in text


def test_a_vessel_without_sensors_says_so(client: httpx.Client) -> None:
    text = text_of(client.get("/vessels/hazel-row").text)
    assert "No sensors aboard: nothing here is watched." in text
    assert "Readings" not in text


@pytest.mark.parametrize("span", ["2d", "14d", "winter"])
def test_charts_come_as_specifications_for_every_span(client: httpx.Client, span: str) -> None:
    charts = client.get("/vessels/amber-lark/charts.json", params={"span": span}).json()
    assert set(charts) == {"temperatures", "humidity", "dew-point", "volts", "bilge"}
    for chart in charts.values():
        assert chart["spec"]["$schema"].endswith("/v6.json")
        assert chart["sentences"]


def test_a_sentence_stands_beside_each_chart(client: httpx.Client) -> None:
    text = text_of(client.get("/vessels/amber-lark").text)
    assert "Outside air: −6.0 to 0.7 °C, on average −6.0 °C since 18:00." in text  # noqa: RUF001
    assert "High water: 100 mm; Main bilge stayed below it." in text
    assert "Nothing was heard for 9 hours of it." in text
    assert "1 point marked with a cross cannot be trusted." in text


def test_an_acknowledgement_is_handed_to_the_watch_and_shown(yard: Yard, client: httpx.Client) -> None:
    answer = client.post(f"/alerts/{worst(yard)}/acknowledge", data={"name": " Odile  Marrick ", "note": "on my way"})
    assert answer.status_code == 200
    assert answer.url.path == "/vessels/amber-lark"
    assert yard.commands == [Acknowledge("amber-lark", worst(yard), yard.now_ms, "Odile Marrick", "on my way")]
    assert "Seen by Odile Marrick" in text_of(answer.text)
    assert "Seen by Odile Marrick: on my way" in text_of(answer.text)


def test_an_acknowledgement_needs_a_name(yard: Yard, client: httpx.Client) -> None:
    answer = client.post(f"/alerts/{worst(yard)}/acknowledge", data={"name": "  "})
    assert answer.status_code == 422
    assert "Write who you are" in text_of(answer.text)
    assert yard.commands == []


def test_what_the_watch_refuses_is_said_in_its_words(yard: Yard, client: httpx.Client) -> None:
    yard.answer = "The journal is full."
    answer = client.post(f"/alerts/{worst(yard)}/acknowledge", data={"name": "Odile"})
    assert (answer.status_code, "The journal is full." in answer.text) == (409, True)


def test_an_alert_that_ended_cannot_be_acknowledged(yard: Yard, client: httpx.Client) -> None:
    ended = next(a.id for a in yard.alerts.values() if a.ended_ms is not None)
    assert client.post(f"/alerts/{ended}/acknowledge", data={"name": "Odile"}).status_code == 409


@pytest.mark.parametrize("path", ["/vessels/nobody", "/nowhere", "/vessels/x/charts.json", "/static/abc/secret.py"])
def test_what_is_not_there_is_a_plain_page_with_a_way_back(client: httpx.Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "To the yard" in answer.text


def test_rejected_messages_say_why_and_what_to_do(client: httpx.Client) -> None:
    page = client.get("/rejects").text
    text = text_of(page)
    assert "<script>alert" not in page
    assert "Wrong unit on layup/eiderhythe/amber-lark/readings" in text
    assert "cabin: unit 'degF' does not fit" in text
    assert "What to do The unit does not fit the quantity in her record." in text
    assert "Duplicates 3" in text
    assert "Late came behind their time: kept, and judged for what they tell of the past 11" in text

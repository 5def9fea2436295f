"""Going through time on a vessel's charts by links and addresses, without a script."""

import html
import re
from datetime import datetime
from urllib.parse import parse_qs, urlsplit
from zoneinfo import ZoneInfo

import httpx
import pytest
from yards import HOUR_MS, NOW_MS, Yard, record

from monitor.model.batch import Batch
from monitor.model.inputs import ForecastVersion, VisitReport
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Mode
from monitor.model.visit import Found, VisitNote
from monitor.web.chart_span import between, chosen_span
from monitor.web.chart_zoom import Step, steps
from monitor.web.problems import ProblemError
from monitor.web.spans import DAY_MS, Shown

LONDON = ZoneInfo("Europe/London")
NIGHT = {"from": "2013-12-08T18:00", "to": "2013-12-09T09:00"}
BOAT = "/vessels/amber-lark"


def at(written: str) -> int:
    return round(datetime.fromisoformat(written).replace(tzinfo=LONDON).timestamp() * 1000)


def shown(begins: str, ends: str) -> Shown:
    return between(at(begins), at(ends), LONDON)


def ways(now: Shown, now_ms: int = NOW_MS) -> dict[str, Step]:
    return {step.key: step for step in steps(now, now_ms, LONDON)}


def ends(step: Step) -> tuple[str, str]:
    assert step.query is not None
    asked = parse_qs(step.query)
    return asked["from"][0], asked["to"][0]


def links(page: str) -> dict[str, str]:
    """Give the links of the charts' navigation, by their word."""
    charts = page[page.index('id="charts"') : page.index("<figure>")]
    return {word: html.unescape(target) for target, word in re.findall(r'href="([^"]+)"[^>]*>([^<]+)</a>', charts)}


def text_of(page: str) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", page).split()))


def foresee(yard: Yard) -> None:
    hours = [(yard.now_ms + h * HOUR_MS, -3.0) for h in range(-3, 72)]
    version = ForecastVersion(Forecast.of(yard.now_ms - 3 * HOUR_MS, hours), yard.now_ms - 3 * HOUR_MS)
    yard.commit(Batch(inputs=[(yard.next_seq(), version)]))


def test_every_way_through_time_is_a_link_that_leads_somewhere(client: httpx.Client) -> None:
    found = links(client.get(BOAT).text)
    assert {"2 days", "14 days", "This winter", "Last night", "Today", "Earlier", "Closer", "Wider"} <= set(found)
    for target in found.values():
        answer = client.get(target)
        assert answer.status_code == 200
        assert 'id="charts"' in answer.text


def test_last_night_is_from_dusk_to_the_morning_and_the_address_says_so(client: httpx.Client) -> None:
    target = links(client.get(BOAT).text)["Last night"]
    assert urlsplit(target).query == "from=2013-12-08T18:00&to=2013-12-09T09:00"
    page = client.get(target).text
    assert "Sun 8 Dec 2013, 18:00 to Mon 9 Dec 2013, 09:00" in text_of(page)
    assert re.search(r'from=2013-12-08T18:00[^"]*" aria-current="true">Last night', page)
    assert 'charts.json?from=2013-12-08T18:00&amp;to=2013-12-09T09:00"' in page


def test_a_night_in_progress_is_last_night_too() -> None:
    assert ends(ways(shown("2013-12-07T00:00", "2013-12-09T02:00"), at("2013-12-09T02:00"))["night"]) == (
        "2013-12-08T18:00",
        "2013-12-09T09:00",
    )


def test_before_a_night_comes_the_night_before() -> None:
    night = ways(shown(*NIGHT.values()))
    assert ends(night["earlier"]) == ("2013-12-07T18:00", "2013-12-08T09:00")
    assert ends(night["later"]) == ("2013-12-09T18:00", "2013-12-10T09:00") or night["later"].query is None


def test_the_night_in_which_the_clocks_change_keeps_its_wall_times() -> None:
    monday = shown("2014-03-30T18:00", "2014-03-31T09:00")
    assert ends(ways(monday, at("2014-04-02T12:00"))["earlier"]) == ("2014-03-29T18:00", "2014-03-30T09:00")


def test_closer_and_wider_are_half_and_double_about_the_middle_of_what_is_past() -> None:
    past = shown("2013-12-01T00:00", "2013-12-01T12:00")
    assert ends(ways(past)["in"]) == ("2013-12-01T03:00", "2013-12-01T09:00")
    assert ends(ways(past)["out"]) == ("2013-11-30T18:00", "2013-12-01T18:00")


def test_closer_keeps_now_in_sight() -> None:
    assert ends(ways(shown("2013-12-07T18:02", "2013-12-09T18:02"))["in"]) == ("2013-12-08T18:02", "2013-12-09T18:02")


def test_nothing_is_closer_than_an_hour_nor_wider_than_the_longest_nor_later_than_now() -> None:
    hour, longest = shown("2013-12-01T00:00", "2013-12-01T01:00"), between(NOW_MS - 400 * DAY_MS, NOW_MS, LONDON)
    assert ways(hour)["in"].query is None
    assert ways(longest)["out"].query is None
    assert ways(longest)["later"].query is None


@pytest.mark.parametrize("minutes", [61, 95, 119, 125])
def test_what_a_link_asks_for_is_never_refused(minutes: int) -> None:
    span = between(NOW_MS - 50 * HOUR_MS + 30_500, NOW_MS - 50 * HOUR_MS + 30_500 + minutes * 60_000, LONDON)
    for step in steps(span, NOW_MS, LONDON):
        if step.query is not None:
            assert chosen_span(*ends(step), NOW_MS, LONDON).length_ms >= HOUR_MS


def test_a_zoomed_view_has_finer_points(client: httpx.Client, yard: Yard) -> None:
    from yards import reading

    yard.hear(
        reading("amber-lark", "cabin", yard.now_ms - DAY_MS + n * 60_000 + 7_000, 4.0 + n % 7) for n in range(360)
    )

    def points(query: dict[str, str]) -> int:
        chart = client.get(f"{BOAT}/charts.json", params=query).json()["temperatures"]
        layers = [x for x in chart["spec"]["layer"] if x["mark"]["type"] == "line"]
        return sum(row.get("s") == "saloon" for layer in layers for row in layer["data"]["values"])

    assert points({"from": "2013-12-08T18:00", "to": "2013-12-09T00:00"}) > 2 * points({"span": "2d"})


@pytest.mark.parametrize(
    ("asked", "reason"),
    [
        ({"from": "yesterday", "to": "2013-12-09"}, "'yesterday' is no time: write it as 2014-01-07T18:00"),
        ({"from": "2013-12-08T18:00"}, "This end of the span is missing"),
        ({"from": "2013-12-09T18:00", "to": "2013-12-08T18:00"}, "The end is not after the start"),
        ({"from": "2013-12-08T18:00", "to": "2013-12-08T18:20"}, "The shortest span is one hour"),
        ({"from": "2011-01-01", "to": "2013-12-08"}, "The longest span is 400 days"),
        ({"from": "2013-12-10", "to": "2013-12-11"}, "That has not come yet"),
        ({"from": "2013-12-08", "to": "2014-01-08"}, "Nothing is foretold for so long"),
        ({"from": "0001-01-01", "to": "9999-12-31T23:59"}, "days"),
    ],
)
def test_a_time_that_cannot_be_shown_is_explained_and_kept_in_the_form(
    client: httpx.Client, asked: dict[str, str], reason: str
) -> None:
    answer = client.get(BOAT, params=asked)
    assert answer.status_code == 422
    assert reason in text_of(answer.text)
    for key, value in asked.items():
        assert re.search(rf'name="{key}" type="text" value="{value}"', answer.text)
    assert "Engine closed cooling" in answer.text  # her page stands all the same
    assert client.get(f"{BOAT}/charts.json", params=asked).status_code == 422


def test_a_time_may_carry_an_offset_or_be_a_day(client: httpx.Client) -> None:
    for asked in ({"from": "2013-12-08", "to": "2013-12-09"}, {"from": "2013-12-08T01:00+01:00", "to": "2013-12-09"}):
        page = client.get(BOAT, params=asked)
        assert page.status_code == 200
        assert "Sun 8 Dec 2013, 00:00 to Mon 9 Dec 2013, 00:00" in text_of(page.text)


def test_what_is_foretold_is_on_the_axis_only_where_there_is_a_forecast(client: httpx.Client, yard: Yard) -> None:
    assert "foretold" not in client.get(BOAT).text
    foresee(yard)
    text = text_of(client.get("/vessels/barley-moon").text)
    assert "Outside air foretold until 12:02 on 10 Dec: " in text
    assert "Pin-striped: foretold" in text
    assert "foretold" not in client.get("/vessels/barley-moon", params=NIGHT).text


def test_visits_moves_and_alerts_stand_in_a_list_with_their_pages(client: httpx.Client, yard: Yard) -> None:
    visit_ms = yard.now_ms - 20 * HOUR_MS
    yard.told.found = [VisitReport("amber-lark", visit_ms, "Wilf Sandring", VisitNote(Found.WELL))]
    yard.lay_up(record("amber-lark", "Amber Lark", "B0", engineer="Enid Invented"), at_ms=yard.now_ms - 12 * HOUR_MS)
    moved = record("amber-lark", "Amber Lark", "C9", engineer="Enid Invented", mode=Mode.ASHORE_BUNG_IN)
    yard.lay_up(moved, at_ms=yard.now_ms - 6 * HOUR_MS)
    page = client.get(BOAT).text
    text = text_of(page)
    assert "What happened in this time: 5" in text
    assert f'<a href="{BOAT}/visits/{visit_ms}">Visit by Wilf Sandring: All well</a>' in page
    assert "Brought from plot B0, ashore bung out to plot C9, ashore bung in, by Hanno Brightwell" in text
    assert "Record, version 2, by Hanno Brightwell" in text
    alert = next(a.id for a in yard.alerts.values() if a.vessel == "amber-lark" and a.subject == "closed-cooling")
    assert f'<a href="/alerts/{alert}">Engine closed cooling is close to its freezing point</a>' in page
    charts = client.get(f"{BOAT}/charts.json").json()
    assert charts["bilge"]["marks"][0]["s"] == "visit by Wilf Sandring"


def test_a_span_that_nobody_can_read_is_refused() -> None:
    with pytest.raises(ProblemError, match="2 mistakes"):
        chosen_span("x", "", NOW_MS, LONDON)

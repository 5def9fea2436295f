"""``coldberth replay``: a small winter of known faults, as a list, a timeline, one object and a picture."""

import json
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from monitor.cli import main
from monitor.cli.heard import Heard, fold
from monitor.cli.replay import replay
from monitor.cli.winter_picture import MOST_BUCKETS, Sampler, draw
from monitor.model.quantity import Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from simulator.library import read_winter, winter_names
from simulator.truth import TruthLog
from simulator.winter import yard_winter

# Ten days of the shipped New York winter, with its hard frost of 3 and 4 January 2014. Of the two boats with water in
# their pipes one says so in her record; of the other no sensor and no record knows.
WINTER = """
name = "Ten cold days"
seed = 5
begins = 2014-01-01T00:00:00Z
ends = 2014-01-11T00:00:00Z
weather = { source = "jfk-2013" }

[[faults]]
kind = "water hidden in pipes"
vessel = "quiet-tuesday"
subject = "fresh-water"
begins = 2014-01-01T00:00:00Z

[[faults]]
kind = "water left in pipes"
vessel = "barley-moon"
subject = "fresh-water"
begins = 2014-01-01T00:00:00Z

[[faults]]
kind = "seacock passing, hose off"
vessel = "saltwhistle"
subject = "heads-intake"
bilge = "main-bilge"
bore_mm = 8
begins = 2014-01-04T02:00:00Z
ends = 2014-01-04T08:00:00Z
"""


@pytest.fixture
def winter(tmp_path: Path) -> str:
    path = tmp_path / "ten-days.toml"
    path.write_text(WINTER, encoding="utf-8")
    return str(path)


def timeline(winter: str, vessel: str, capsys: pytest.CaptureFixture[str], width: int = 170) -> list[str]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(width))
        assert main(["replay", winter, "--vessel", vessel, "--timeline"]) == 0
    return capsys.readouterr().out.splitlines()


def test_a_seacock_is_told_beside_what_it_did(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    lines = [" ".join(line.split()) for line in timeline(winter, "saltwhistle", capsys)]
    # The yard lies five hours west of UTC: what begins at 02:00 UTC begins on the evening before.
    story = (
        "Saltwhistle (saltwhistle), berth N12",
        "WHAT WAS TRUE WHAT THE WATCH SAID",
        "Fri 3 Jan 21:00 seacock passing, hose off begins (heads-intake)",
        "- float up (main-bilge)",
        "ALARM opened (bilge/main-bilge)",
        "- 20 mm risen (main-bilge)",
        "* water at the starter motor (main-bilge): told ",
        "Sat 4 Jan 03:00 seacock passing, hose off is over (heads-intake)",
        "no more water at the starter motor (main-bilge)",
        "returned (bilge/main-bilge)",
    )
    at = [next((n for n, line in enumerate(lines) if part in line), -1) for part in story]
    assert -1 not in at, story[at.index(-1)]
    assert all(before < after for before, after in pairwise(at)), at


def test_truth_stands_left_of_what_was_said(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    lines = timeline(winter, "saltwhistle", capsys)
    (heading,) = (line for line in lines if "WHAT WAS TRUE" in line)
    left, right = heading.index("WHAT WAS TRUE"), heading.index("WHAT THE WATCH SAID")
    (truth,) = (line for line in lines if "float up (main-bilge)" in line)
    (said,) = (line for line in lines if "ALARM opened" in line)
    assert truth.index("- float up") == left
    assert said.index("ALARM opened") == right
    assert all(len(line) <= 170 for line in lines)


def test_freezing_on_two_nights_is_one_spell_told_before(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(" ".join(timeline(winter, "barley-moon", capsys)).split())
    assert text.count("begins to freeze (fresh-water)") == 1
    assert "begins to freeze (fresh-water), 2 times until" in text
    assert " h before; 2 of 2 told" in text
    assert "NOT TOLD" not in text


def test_what_no_sensor_knows_of_is_not_told(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(" ".join(timeline(winter, "quiet-tuesday", capsys)).split())
    assert "begins to freeze (fresh-water), 2 times until Fri 3 Jan 02:00: NOT TOLD; 0 of 2 told" in text


def test_a_boat_that_nothing_befell_says_so(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "  nothing befell her, and nothing was said" in timeline(winter, "lantern-rose", capsys)


def test_the_list_says_what_befell_her_and_whether_it_was_told(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", winter]) == 0
    out = capsys.readouterr().out
    assert "harm     begins to freeze (fresh-water) 2014-01-02T08:00 to 2014-01-02T22:00, NOT TOLD" in out
    assert "harm     water at the starter motor (main-bilge)" in out
    assert "Lantern Rose, plot A9: fine" in out


def test_json_is_one_object_with_truth_and_alerts(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", winter, "--json", "--seed", "7", "--cadence", "1800", "--vessels", "12"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["winter"], found["seed"], found["cadence_s"]) == (winter, 7, 1800)
    assert len(found["vessels"]) == 12
    boat = found["vessels"]["saltwhistle"]
    assert set(boat) == {"faults", "alerts", "causes", "harms", "marks"}
    assert boat["causes"][0]["kind"] == boat["faults"][0]["kind"] == "seacock passing, hose off"
    assert (boat["causes"][0]["begins"], boat["causes"][0]["ends"]) == ("2014-01-04T02:00:00Z", "2014-01-04T08:00:00Z")
    assert {m["kind"] for m in boat["marks"]} == {"float up", "20 mm risen"}
    (harm,) = boat["harms"]
    (alert,) = (a for a in boat["alerts"] if a["rule"] == "bilge")
    assert alert["events"][0]["change"] == "opened"
    assert alert["events"][-1]["change"] == "latched"  # high water stays until somebody was aboard
    assert alert["opened"] == alert["events"][0]["at"] < harm["begins"]
    hidden = found["vessels"]["quiet-tuesday"]["harms"]
    assert hidden
    assert all(h["asked"] and h["told_before_s"] is None for h in hidden)


def words_of(svg: str) -> str:
    return "\n".join(t for t in ET.fromstring(svg).itertext() if t.strip())  # noqa: S314


def test_a_picture_has_her_panels_and_both_lanes(
    winter: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "her.svg"
    assert main(["replay", winter, "--vessel", "saltwhistle", "--picture", str(path)]) == 0
    assert "saltwhistle" not in capsys.readouterr().err
    words = words_of(path.read_text(encoding="utf-8"))
    for part in (
        "Temperatures, °C",
        "Relative humidity, %",
        "Battery volts, V",
        "Bilge level, mm",
        "high water: ",
        "What was true",
        "Harm: water at the starter motor, main-bilge",
        "What the watch said: C caution, W warning, A alarm",
        "bilge, main-bilge: highest alarm",
    ):
        assert part in words
    assert "NaN" not in words


def test_a_picture_has_no_panel_that_she_has_no_sensor_for(winter: str) -> None:
    quiet = read_winter(winter)
    record = next(v for v in quiet.vessels if v.id == "lantern-rose")
    without = record.model_copy(
        update={"bilges": (), "sensors": tuple(s for s in record.sensors if s.quantity is not Quantity.LEVEL)}
    )
    words = words_of(draw(Sampler(without, 0, 864_000_000), quiet, TruthLog(), Heard()))
    assert "Battery volts, V" in words
    assert "Bilge level" not in words
    assert "What was true" not in words


def test_a_sampler_keeps_lowest_and_highest_and_leaves_out_what_failed() -> None:
    record = yard_winter().vessels[0]
    day_ms = 86_400_000
    sampler = Sampler(record, 0, 180 * day_ms)
    assert day_ms % sampler.step_ms == 0
    assert 180 * day_ms / sampler.step_ms <= MOST_BUCKETS
    for n, (value, flag) in enumerate([(4.0, Flag.PASS), (85.0, Flag.FAIL), (-2.0, Flag.PASS)]):
        sampler.see(Reading(record.id, "cabin", n, n, n, value, flag=flag))
    (bucket,) = sampler.buckets("cabin").buckets
    assert (bucket.low, bucket.high, bucket.mean, bucket.count) == (-2.0, 4.0, 1.0, 2)


def test_every_reading_is_seen_once_and_settled(winter: str) -> None:
    alone = read_winter(winter).alone(0)
    seen: list[Reading] = []
    heard = fold(alone, TruthLog(), seen.append)
    assert len(seen) == heard.readings > 240
    assert len({(r.sensor, r.stated_ms) for r in seen}) == len(seen)
    switches = {s.id for s in alone.vessels[0].sensors if s.quantity.is_switch}
    assert {r.flag for r in seen if r.sensor not in switches} <= {Flag.PASS, Flag.SUSPECT, Flag.FAIL}


def test_listening_changes_no_alert(winter: str) -> None:
    heard = fold(read_winter(winter), TruthLog(), lambda _: None)
    readings, alerts = replay(read_winter(winter))
    assert (readings, alerts) == (heard.readings, heard.alerts)
    assert alerts


def test_the_list_names_every_shipped_winter(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", "--list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(winter_names())
    assert any("Twelve boats, one coastal winter" in line for line in lines if line.startswith("jfk-2013"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["no-such-winter"], "there is no winter 'no-such-winter'"),
        (["--cadence", "7000"], "--cadence: cadence_s is 7000"),
        (["--vessel", "nobody"], "--vessel nobody: Twelve boats, one coastal winter has no such boat, but barley-moon"),
        (["--picture", "x.svg"], "name her with --vessel, one of barley-moon"),
    ],
)
def test_what_cannot_be_replayed_is_told_in_words(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["replay", *words]) == 2
    told = capsys.readouterr()
    assert said in told.err
    assert told.out == ""
    assert "--list" in told.err or words[0] != "no-such-winter"


def test_a_picture_that_cannot_be_written_is_told(winter: str, capsys: pytest.CaptureFixture[str]) -> None:
    nowhere = "/nowhere/at/all.svg"
    assert main(["replay", winter, "--vessel", "barley-moon", "--picture", nowhere]) == 2
    assert f"--picture {nowhere}: No such file or directory" in capsys.readouterr().err

"""Settings are checked whole, and every mistake is said with file, key and reason."""

import base64
import re
from pathlib import Path

import pytest

from monitor.model.people import Ladder
from monitor.settings import ClockMode, SettingsError, read_settings

SAMPLE = Path(__file__).parents[1] / "deploy" / "settings.toml"
SECRET = "whsec_" + base64.b64encode(bytes(range(32))).decode()
COMMENTED_OUT = re.compile(r"# (\[|\]|  \{|\w+ = )")
YARD = '[yard]\nid = "quay"\nname = "Quay"\n'
ANNA = '[[people]]\nid = "anna"\nname = "Anna"\nemail = "anna@quay.example"\n'
BEN = '[[people]]\nid = "ben"\nname = "Ben"\n'
HOOKED = 'channels = [{ kind = "webhook", address = "https://hooks.example/1" }]\n'


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "settings.toml"
    path.write_text(text)
    return path


def test_the_sample_settings_load() -> None:
    settings = read_settings(SAMPLE)
    assert settings.yard.id == "eiderhythe"
    assert settings.journal.clock is ClockMode.WALL
    assert settings.web.host == "127.0.0.1"


def test_the_commented_lines_of_the_sample_load_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLDBERTH_MAIL__PASSWORD", "secret")
    monkeypatch.setenv("COLDBERTH_WEBHOOK__SECRET", SECRET)
    lines = SAMPLE.read_text().splitlines()
    whole = [line.removeprefix("# ") if COMMENTED_OUT.match(line) else line for line in lines]
    settings = read_settings(written(tmp_path, "\n".join(whole)))
    assert None not in (settings.mail, settings.webhook, settings.heartbeat)
    assert [person.id for person in settings.roster.people] == ["anna", "ben", "carl"]
    assert settings.telling == Ladder()
    assert settings.history is not None
    assert len(settings.sources) == 1


def test_every_mistake_is_named_in_one_answer(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        '[yard]\nid = "Quay 1"\n[yard.calendar]\nzone = "Nowhere/Atall"\n[web]\nport = 99999\ncolour = "red"\n',
    )
    with pytest.raises(SettingsError) as told:
        read_settings(path)
    lines = str(told.value).splitlines()
    assert all(line.startswith(f"{path}: ") for line in lines)
    for key in ("yard.id", "yard.name", "yard.calendar.zone", "web.port", "web.colour"):
        assert any(f": {key}: " in line for line in lines), key


def test_a_file_that_is_not_toml_says_where(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"not TOML: .*line 1"):
        read_settings(written(tmp_path, "yard = = 3"))


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read: No such file"):
        read_settings(tmp_path / "none.toml")


def test_the_environment_overrides_one_key_and_keeps_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLDBERTH_WEB__PORT", "9191")
    monkeypatch.setenv("COLDBERTH_BROKER__PASSWORD", "secret")
    path = written(
        tmp_path,
        '[yard]\nid = "quay"\nname = "Quay"\n[web]\nhost = "127.0.0.2"\n[broker]\nusername = "agent"\n',
    )
    settings = read_settings(path)
    assert (settings.web.host, settings.web.port) == ("127.0.0.2", 9191)
    assert settings.broker.password is not None
    assert "secret" not in repr(settings)


def test_the_journal_lies_beside_the_settings(tmp_path: Path) -> None:
    settings = read_settings(written(tmp_path, '[yard]\nid = "quay"\nname = "Quay"\n'))
    assert settings.journal.path == tmp_path / "coldberth.sqlite"


@pytest.mark.parametrize(
    ("text", "key", "reason"),
    [
        (ANNA + ANNA.replace("Anna", "Ann").replace("anna@", "ann@"), "people.1.id", "'anna' is the id of two people"),
        (ANNA + BEN.replace("Ben", "anna"), "people.1.name", "'anna' is the name of two people"),
        (ANNA + BEN + 'email = "ANNA@quay.example"\n', "people.1.email", "is the address of two people"),
        (ANNA + '[rota]\nusual = { first = ["zoe"] }\n', "rota.usual.first", "'zoe' is the id of nobody in people"),
        (
            ANNA + '[rota]\nweeks = { "2027-W02" = { second = ["zoe"] } }\n',
            "rota.weeks.2027-W02.second",
            "'zoe' is the id of nobody in people",
        ),
        (BEN + '[rota]\nusual = { second = ["ben"] }\n', "rota.usual.second", "nobody in it can be reached"),
        (ANNA + '[rota]\nweeks = { "2027-W53" = { first = ["anna"] } }\n', "rota.weeks.2027-W53", "no such week"),
        (ANNA + HOOKED, "people.0.channels", "give its secret in the table [webhook]"),
        ("[telling]\nsecond_after_min = 40\n", "telling", "manager_after_min must not be less"),
        ("[webhook]\ntimeout_s = 5\n", "webhook.secret", "is missing"),
        ("[heartbeat]\nevery_h = 1\n", "heartbeat.every_h", ""),
    ],
)
def test_a_mistake_about_people_is_one_line_with_its_key(tmp_path: Path, text: str, key: str, reason: str) -> None:
    path = written(tmp_path, YARD + text)
    with pytest.raises(SettingsError) as told:
        read_settings(path)
    (line,) = str(told.value).splitlines()
    assert line.startswith(f"{path}: {key}: ")
    assert reason in line


def test_a_yard_of_whose_duty_nobody_can_be_reached_is_a_mistake(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r": yard.duty: nobody in it can be reached"):
        read_settings(written(tmp_path, YARD + 'duty = [{ name = "Somebody" }]\n'))


def test_first_duty_that_only_rings_is_a_mistake_as_warnings_do_not_ring(tmp_path: Path) -> None:
    rings = BEN + HOOKED.replace(" }]", ", rings = true }]")
    text = f'{YARD}{rings}[webhook]\nsecret = "{SECRET}"\n[rota]\nusual = {{ first = ["ben"] }}\n'
    with pytest.raises(SettingsError, match=r": rota.usual.first: all their channels ring"):
        read_settings(written(tmp_path, text))


def test_the_environment_gives_the_webhooks_secret_and_it_is_not_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLDBERTH_WEBHOOK__SECRET", SECRET)
    monkeypatch.setenv("COLDBERTH_TELLING__GATHER_MIN", "3")
    settings = read_settings(written(tmp_path, YARD + ANNA + HOOKED + "[telling]\nrepeat_min = 90\n"))
    assert settings.webhook is not None
    assert SECRET not in repr(settings)
    assert (settings.telling.gather_min, settings.telling.repeat_min) == (3, 90)


def test_files_of_certificates_lie_beside_the_settings(tmp_path: Path) -> None:
    webhook = f'[webhook]\nsecret = "{SECRET}"\nca_file = "w.pem"\n'
    text = webhook + '[heartbeat]\nurl = "https://o.example"\nca_file = "h.pem"\n'
    settings = read_settings(written(tmp_path, YARD + text))
    assert settings.webhook is not None
    assert settings.heartbeat is not None
    assert (settings.webhook.ca_file, settings.heartbeat.ca_file) == (tmp_path / "w.pem", tmp_path / "h.pem")

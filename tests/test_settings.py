"""Settings are checked whole, and every mistake is said with file, key and reason."""

from pathlib import Path

import pytest

from monitor.settings import ClockMode, SettingsError, read_settings

SAMPLE = Path(__file__).parents[1] / "deploy" / "settings.toml"


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
    lines = SAMPLE.read_text().splitlines()
    keys = (
        "[",
        "host",
        "port",
        "security",
        "username",
        "sender",
        "topic",
        "vessel",
        "sensor",
        "pointer",
        "unit",
        "url",
        "org",
        "bucket",
        "csv",
        "power_off",
    )
    whole = [line.removeprefix("# ") if line.removeprefix("# ").startswith(keys) else line for line in lines]
    settings = read_settings(written(tmp_path, "\n".join(whole)))
    assert settings.mail is not None
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

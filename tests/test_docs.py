"""The documents keep up with the program: every command, setting and rule has its line."""

import argparse
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from monitor.cli import _parser
from monitor.rules.book import RULES
from monitor.settings import Settings

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text()
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text()
SAMPLE = (TOP / "deploy" / "settings.toml").read_text()
# Keys that a yard need not know; each has its default and its reason in the code.
UNSAID = {"client_id", "keepalive_s", "session_expiry_s", "timeout_s", "enabled", "scale", "offset"}
UNSAID |= {"time_pointer", "time_unit"}


def commands(parser: argparse.ArgumentParser, before: str = "coldberth") -> Iterator[str]:
    below = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    if not below:
        yield before
    for action in below:
        for name, sub in action.choices.items():
            yield from commands(sub, f"{before} {name}")


def keys(model: type[BaseModel]) -> Iterator[str]:
    for name, field in model.model_fields.items():
        inner = [t for t in (field.annotation, *getattr(field.annotation, "__args__", ())) if isinstance(t, type)]
        tables = [t for t in inner if issubclass(t, BaseModel)]
        if tables:
            yield from keys(tables[0])
        else:
            yield name


@pytest.mark.parametrize("command", list(commands(_parser())))
def test_every_command_has_its_line(command: str) -> None:
    assert command in README or command.replace("coldberth demo", "deploy/demo") in README


@pytest.mark.parametrize("rule", [rule.name for rule in RULES])
def test_every_rule_has_its_line(rule: str) -> None:
    assert re.search(rf"^\| {rule} \|", README, re.MULTILINE)


@pytest.mark.parametrize("key", sorted(set(keys(Settings)) - UNSAID))
def test_every_setting_has_its_line_in_the_sample(key: str) -> None:
    assert re.search(rf"\b{key} = ", SAMPLE) or f"__{key.upper()}" in SAMPLE


def test_what_the_readme_shows_is_there() -> None:
    for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README):
        assert (TOP / picture).exists(), picture
    for file in re.findall(r"`((?:deploy|simulator|monitor|tests)/[\w./-]+)`", README + DEVELOPERS):
        assert (TOP / file).exists() or list(TOP.glob(file)), file


def test_every_room_of_the_house_is_on_the_map() -> None:
    rooms = [p.name for p in (TOP / "monitor").iterdir() if p.is_dir() and not p.name.startswith("_")]
    files = [p.name for p in (TOP / "monitor").glob("*.py") if not p.name.startswith("_")]
    for name in [f"monitor/{room}/" for room in rooms] + [f"monitor/{file}" for file in files if file != "settings.py"]:
        assert name in DEVELOPERS, name


def test_the_top_level_is_as_agreed() -> None:
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "monitor", "tests", "simulator", "deploy"}
    there = {p.name for p in TOP.iterdir() if not p.name.startswith(".") and not p.name.endswith(".egg-info")}
    assert there - {"build"} == wanted

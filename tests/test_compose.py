"""What deploy/compose.yaml names is there and loads. It is read here, not run: test machines have no docker."""

import re
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import yaml

from monitor.settings import Settings, read_settings

DEPLOY = Path(__file__).parents[1] / "deploy"
COMPOSE: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
AGENT = SERVICES["agent"]
# Made by whoever sets it up; the manual says how.
MADE_BY_HAND = {"./broker"}


def variables(text: str) -> dict[str, str]:
    return dict(line.split("=", 1) for line in text.splitlines() if "=" in line and not line.startswith("#"))


def for_the_cluster() -> str:
    """Give the agent's variables as its example says for the cluster."""
    above, below = (DEPLOY / "agent.env.example").read_text().split("# With --profile cluster")
    own = "\n".join(line for line in above.splitlines() if "HISTORY" not in line)
    return own + "\n" + below.replace("# COLDBERTH", "COLDBERTH")


def settings(monkeypatch: pytest.MonkeyPatch, text: str) -> Settings:
    for name, value in {**variables(text), **AGENT["environment"]}.items():
        monkeypatch.setenv(name, value)
    return read_settings(DEPLOY / "settings.toml")


def mounts(service: dict[str, Any]) -> dict[str, str]:
    return {inside: outside for outside, inside, *_ in (line.split(":") for line in service.get("volumes", []))}


@pytest.mark.parametrize("name", SERVICES)
def test_what_a_service_mounts_is_there(name: str) -> None:
    for outside in mounts(SERVICES[name]).values():
        if not outside.startswith("."):
            assert outside in COMPOSE["volumes"], outside
        elif outside not in MADE_BY_HAND:
            assert (DEPLOY / outside).is_file(), outside


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_has_a_version_comes_again_and_says_how_it_is(name: str) -> None:
    service = SERVICES[name]
    assert service["restart"] == "unless-stopped"
    assert service["healthcheck"]["test"][0] == "CMD"
    assert "build" in service or re.search(r":v?\d+\.\d+", service["image"])


def test_every_volume_is_used_and_every_service_that_is_waited_for_is_there() -> None:
    used = {outside for service in SERVICES.values() for outside in mounts(service).values()}
    assert set(COMPOSE["volumes"]) == {outside for outside in used if not outside.startswith(".")}
    assert {name for service in SERVICES.values() for name in service.get("depends_on", {})} <= set(SERVICES)


def test_secrets_come_by_files_that_have_an_example_and_are_kept_out_of_git() -> None:
    assert [name for name in AGENT["env_file"] if not (DEPLOY / f"{name}.example").is_file()] == []
    assert [each["path"] for each in SERVICES["influx"]["env_file"]] == ["influx.env"]
    ignored = (DEPLOY / ".gitignore").read_text().split()
    assert {"agent.env", "influx.env", "broker/"} <= set(ignored)


def test_with_influx_the_agent_writes_to_and_reads_from_that_service(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = settings(monkeypatch, (DEPLOY / "agent.env.example").read_text())
    assert loaded.history is not None
    assert (loaded.history.read, urlsplit(loaded.history.url).hostname) == ("flux", "influx")
    assert SERVICES["influx"]["profiles"] == ["influx"]
    told = variables((DEPLOY / "influx.env.example").read_text())
    assert told["DOCKER_INFLUXDB_INIT_ORG"] == loaded.history.org
    assert told["DOCKER_INFLUXDB_INIT_BUCKET"] == loaded.history.bucket


def test_with_the_cluster_the_agent_writes_to_and_reads_from_its_doors(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = settings(monkeypatch, for_the_cluster())
    assert loaded.history is not None
    assert loaded.history.read == "prometheus"
    assert urlsplit(loaded.history.url).netloc == "vminsert:8480"
    assert urlsplit(loaded.history.read_from).netloc == "vmselect:8481"
    for door in ("vminsert", "vmselect"):
        stores = next(word for word in SERVICES[door]["command"] if word.startswith("-storageNode="))
        assert {node.split(":")[0] for node in stores.removeprefix("-storageNode=").split(",")} <= set(SERVICES)
    for keeper in ("vmstorage-1", "vmstorage-2", "vmselect"):
        assert "-dedup.minScrapeInterval=1ms" in SERVICES[keeper]["command"]


def test_the_agent_finds_its_broker_and_keeps_its_journal_on_its_volume(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = settings(monkeypatch, (DEPLOY / "agent.env.example").read_text())
    assert loaded.broker.host in SERVICES
    assert loaded.broker.username == "agent.eiderhythe"
    assert mounts(AGENT)[str(loaded.journal.path.parent)] == "journal"
    assert AGENT["ports"] == [f"127.0.0.1:{loaded.web.port}:{loaded.web.port}"]
    port = f"listener {loaded.broker.port}"
    assert port in (DEPLOY / "mosquitto-compose.conf").read_text().splitlines()
    assert all(f"{loaded.broker.port}" not in published for published in SERVICES["mosquitto"]["ports"])


def test_the_broker_is_set_as_the_one_that_boats_reach_but_for_its_places() -> None:
    def said(name: str) -> set[str]:
        lines = (DEPLOY / name).read_text().splitlines()
        return {line for line in lines if line and not line.startswith("#")}

    ours, boats = said("mosquitto-compose.conf"), said("mosquitto-boats.conf")
    assert ours - boats == {"persistence_location /mosquitto/data/", "listener 1883"}
    assert boats - ours == {"listener 1883 127.0.0.1"}


def test_the_image_copies_what_the_program_is_made_of_and_nothing_else() -> None:
    text = (DEPLOY / "Dockerfile").read_text()
    copied = {word for line in re.findall(r"^COPY (.+) \S+$", text, re.MULTILINE) for word in line.split()}
    assert copied == {"pyproject.toml", "README.md", "monitor", "simulator"}
    allowed = {line[1:] for line in (DEPLOY / "Dockerfile.dockerignore").read_text().split() if line.startswith("!")}
    assert allowed == copied
    assert all((DEPLOY.parent / name).exists() for name in copied)
    assert AGENT["build"]["context"] == ".."
    assert (DEPLOY.parent / AGENT["build"]["dockerfile"]) == DEPLOY / "Dockerfile"

"""Settings: one TOML file, overridden by the environment, checked whole before anything starts.

A key ``port`` of table ``[web]`` is overridden by ``COLDBERTH_WEB__PORT``. Secrets belong into the environment.
"""

import tomllib
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict
from pydantic_settings import SettingsError as UnreadableError

from monitor.intake.broker import BrokerConfig
from monitor.intake.sources import Source
from monitor.model.document import mistakes
from monitor.model.equipment import Slug
from monitor.model.people import ChannelKind, Ladder, Rota, YardPerson
from monitor.model.roster import Roster, roster_mistakes
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Person
from monitor.notify.heartbeat import HeartbeatConfig
from monitor.notify.service import ServiceConfig
from monitor.notify.smtp import SmtpConfig
from monitor.notify.webhook import WebhookConfig
from monitor.store.history_config import HistoryConfig
from monitor.store.retention import LEAST_DAYS

ENVIRONMENT = "COLDBERTH_"


class SettingsError(Exception):
    """Settings that cannot be used. Its text has one line a mistake: file, key, reason."""


class Table(BaseModel):
    """A table of the settings file: strict about keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Yard(Table):
    """The yard: its id in topics, its name on pages, who is told there, its time zone, working time and power plan."""

    id: Slug
    name: Annotated[str, Field(min_length=1, max_length=80)]
    duty: tuple[Person, ...] = ()
    calendar: YardCalendar = YardCalendar()
    work_lists: Path | None = None
    """A folder with the yard's own work lists (TOML), laid over ours."""

    @property
    def zone(self) -> str:
        """The yard's time zone (IANA)."""
        return self.calendar.zone


class ForecastSource(Table):
    """A file with the weather forecast, read again whenever it changes: CSV with the columns time and temperature."""

    csv: Path


class ClockMode(StrEnum):
    """Where *now* comes from: the wall, or clock messages in the ordered stream (demo and replay)."""

    WALL = "wall"
    STREAM = "stream"


class Journal(Table):
    """Where the journal is, where time comes from, how often watch states are saved, how long readings are kept."""

    path: Path = Path("coldberth.sqlite")
    clock: ClockMode = ClockMode.WALL
    save_every_s: Annotated[float, Field(gt=0, le=3600)] = 60.0
    keep_raw_days: Annotated[int, Field(ge=LEAST_DAYS)] | None = None


class Web(Table):
    """Where the pages are served. Loopback unless told otherwise, and then only once somebody has an account."""

    host: str = "127.0.0.1"
    port: Annotated[int, Field(ge=0, le=65_535)] = 8080
    enabled: bool = True
    address: Annotated[str, Field(pattern=r"^https?://\S+$")] | None = None
    proxies: tuple[str, ...] = ("127.0.0.1", "::1")
    """Addresses of proxies in front of the pages: what they say of who asks is believed."""

    @property
    def public(self) -> str:
        """The address that links in messages begin with."""
        return (self.address or f"http://{self.host}:{self.port}").rstrip("/")


class Settings(BaseSettings):
    """Everything the agent is told."""

    model_config = SettingsConfigDict(
        env_prefix=ENVIRONMENT,
        env_nested_delimiter="__",
        extra="forbid",
        frozen=True,
        nested_model_default_partial_update=True,
    )

    yard: Yard
    journal: Journal = Journal()
    broker: BrokerConfig = BrokerConfig()
    web: Web = Web()
    people: tuple[YardPerson, ...] = ()
    rota: Rota = Rota()
    telling: Ladder = Ladder()
    mail: SmtpConfig | None = None
    webhook: WebhookConfig | None = None
    service: ServiceConfig = ServiceConfig()
    heartbeat: HeartbeatConfig | None = None
    history: HistoryConfig | None = None
    forecast: ForecastSource | None = None
    sources: tuple[Source, ...] = ()

    @property
    def roster(self) -> Roster:
        """Everybody who may be told."""
        return Roster.of(self.people, self.rota, self.yard.duty, self.yard.zone)

    @property
    def sendable(self) -> frozenset[ChannelKind]:
        """The channels that notices can go out by: those whose server is set, and services where anybody has one."""
        ways = {
            ChannelKind.EMAIL: self.mail is not None,
            ChannelKind.WEBHOOK: self.webhook is not None,
            ChannelKind.SERVICE: any(c.kind is ChannelKind.SERVICE for p in self.people for c in p.channels),
        }
        return frozenset(way for way, can in ways.items() if can)

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],  # noqa: ARG003 - pydantic-settings' own signature
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,  # noqa: ARG003
        file_secret_settings: PydanticBaseSettingsSource,  # noqa: ARG003
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """Let the environment override the file."""
        return env_settings, init_settings


def read_settings(path: Path) -> Settings:
    """Read a settings file.

    Paths in it are taken from the file's own folder.

    Raises:
        SettingsError: with every mistake found, one line each.
    """
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        raise SettingsError(f"{path}: cannot be read: {error.strerror}") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path}: not TOML: {error}") from error
    try:
        settings = Settings(**data)
    except ValidationError as error:
        raise SettingsError("\n".join(mistakes(error, str(path)))) from error
    except UnreadableError as error:  # it names the key and not the value, which may be a secret
        raise SettingsError(f"the environment: {error}: what stands there is not JSON") from error
    wrong = list(_people_mistakes(settings))
    if wrong:
        raise SettingsError("\n".join(f"{path}: {key}: {reason}" for key, reason in wrong))
    return settings.model_copy(update=_taken_from(path.parent, settings))


def _taken_from(beside: Path, settings: Settings) -> dict[str, BaseModel]:
    """Give the tables that name files, with those taken from the settings file's own folder."""
    changes: dict[str, BaseModel] = {
        "journal": settings.journal.model_copy(update={"path": beside / settings.journal.path})
    }
    if settings.yard.work_lists is not None:
        changes["yard"] = settings.yard.model_copy(update={"work_lists": beside / settings.yard.work_lists})
    if settings.broker.ca_file is not None:
        changes["broker"] = settings.broker.model_copy(update={"ca_file": beside / settings.broker.ca_file})
    if settings.forecast is not None:
        changes["forecast"] = ForecastSource(csv=beside / settings.forecast.csv)
    for name in ("mail", "webhook", "heartbeat"):
        table: SmtpConfig | WebhookConfig | HeartbeatConfig | None = getattr(settings, name)
        if table is not None and table.ca_file is not None:
            changes[name] = table.model_copy(update={"ca_file": beside / table.ca_file})
    return changes


def _people_mistakes(settings: Settings) -> Iterator[tuple[str, str]]:
    """Give what is wrong with people and how they are reached, each as key and reason."""
    yield from roster_mistakes(settings.people, settings.rota, settings.yard.duty)
    for number, person in enumerate(settings.people):
        hooked = any(channel.kind is ChannelKind.WEBHOOK for channel in person.channels)
        if hooked and settings.webhook is None:
            yield f"people.{number}.channels", "a webhook is signed: give its secret in the table [webhook]"

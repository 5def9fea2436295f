"""Settings: one TOML file, overridden by the environment, checked whole before anything starts.

A key ``port`` of table ``[web]`` is overridden by ``COLDBERTH_WEB__PORT``. Secrets belong into the environment.
"""

import tomllib
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict

from monitor.intake.broker import BrokerConfig
from monitor.intake.sources import Source
from monitor.model.document import mistakes
from monitor.model.equipment import Slug
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Person
from monitor.notify.smtp import SmtpConfig
from monitor.store.history import HistoryConfig

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
    """Where the journal file is, where time comes from, and how often watch states are saved for a quick start."""

    path: Path = Path("coldberth.sqlite")
    clock: ClockMode = ClockMode.WALL
    save_every_s: Annotated[float, Field(gt=0, le=3600)] = 60.0


class Web(Table):
    """Where the pages are served. Loopback unless told otherwise; there is no login yet, so leave it there."""

    host: str = "127.0.0.1"
    port: Annotated[int, Field(ge=0, le=65_535)] = 8080
    enabled: bool = True
    address: Annotated[str, Field(pattern=r"^https?://\S+$")] | None = None

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
    mail: SmtpConfig | None = None
    history: HistoryConfig | None = None
    forecast: ForecastSource | None = None
    sources: tuple[Source, ...] = ()

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
    beside = path.parent
    changes: dict[str, Table | BrokerConfig | SmtpConfig] = {
        "journal": settings.journal.model_copy(update={"path": beside / settings.journal.path})
    }
    if settings.broker.ca_file is not None:
        changes["broker"] = settings.broker.model_copy(update={"ca_file": beside / settings.broker.ca_file})
    if settings.forecast is not None:
        changes["forecast"] = ForecastSource(csv=beside / settings.forecast.csv)
    if settings.mail is not None and settings.mail.ca_file is not None:
        changes["mail"] = settings.mail.model_copy(update={"ca_file": beside / settings.mail.ca_file})
    return settings.model_copy(update=changes)

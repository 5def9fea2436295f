"""Where an MQTT broker is and how to log in there: what whoever listens to it and whoever publishes at it both need."""

from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, SecretStr, model_validator


class BrokerAddress(BaseModel):
    """The broker's address, and our name and login there."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    host: Annotated[str, Field(min_length=1)] = "localhost"
    port: Annotated[int, Field(ge=1, le=65_535)] = 1883
    username: str | None = None
    password: SecretStr | None = None
    tls: bool = False
    ca_file: Path | None = None
    client_id: Annotated[str, Field(min_length=1, max_length=128)] | None = None
    keepalive_s: Annotated[int, Field(ge=1, le=65_535)] = 60

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.password is not None and self.username is None:
            raise ValueError("a password needs its username")
        if self.ca_file is not None and not self.tls:
            raise ValueError("ca_file is only used with tls = true")
        return self

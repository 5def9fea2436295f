"""Where history goes, and where charts of long spans come from."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, SecretStr, model_validator

from monitor.model.people import ChannelKind
from monitor.model.shown_address import shown_address

_Address = Annotated[str, Field(pattern=r"^https?://\S+$")]


class HistoryConfig(BaseModel):
    """A server with the InfluxDB v2 write API, and how it is read where charts are to come from it.

    Attributes:
        url: what ``/api/v2/write`` follows.
        org: the server's name for us; VictoriaMetrics heeds none.
        bucket: where points go; VictoriaMetrics heeds none.
        token: who we are.
        timeout_s: how long an answer may take.
        read: charts of long spans are read from it: by the Prometheus query API or in Flux. None: from the journal.
        read_url: what ``/api/v1/query_range`` or ``/api/v2/query`` follows, where it is another address.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    url: _Address
    org: str = "-"
    bucket: str = "coldberth"
    token: SecretStr = SecretStr("")
    timeout_s: Annotated[float, Field(gt=0, le=600)] = 10.0
    read: Literal["prometheus", "flux"] | None = None
    read_url: _Address | None = None

    @model_validator(mode="after")
    def _address_is_read(self) -> "HistoryConfig":
        if self.read_url is not None and self.read is None:
            raise ValueError('read_url is of no use without read = "prometheus" or read = "flux"')
        return self

    @property
    def shown(self) -> str:
        """The address as it may be logged: a password may stand in it."""
        return shown_address(ChannelKind.WEBHOOK, self.url)

    @property
    def read_from(self) -> str:
        """The address that queries go to, without a slash at its end."""
        return (self.read_url or self.url).rstrip("/")

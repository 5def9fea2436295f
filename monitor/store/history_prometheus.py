"""Reads history by the Prometheus query API, as VictoriaMetrics and others serve it: one query a sensor."""

from collections import defaultdict
from typing import Any

import httpx

from monitor.model.views import Bucket
from monitor.store.history_config import HistoryConfig
from monitor.store.history_points import FLAG, MEASUREMENT, VALUE
from monitor.store.history_read import READ_WITHIN_S, HistoryReadError, buckets_of

HOUR_MS = 3_600_000

SUMS = {
    "low": ("min_over_time", VALUE),
    "high": ("max_over_time", VALUE),
    "mean": ("avg_over_time", VALUE),
    "count": ("count_over_time", VALUE),
    "worst": ("max_over_time", FLAG),
}
# Windows end where they are asked for, and answers of the last minute are not to be relied on: each bucket is asked for
# an hour before it begins, and looks forward.
AHEAD_MS = HOUR_MS
NONSENSE = "its answer is none of the Prometheus query API"


class PrometheusSource:
    """The server's query API.

    Args:
        config: the server.
        yard: the yard whose points are read.
    """

    def __init__(self, config: HistoryConfig, yard: str) -> None:
        token = config.token.get_secret_value()
        self._yard = yard
        self._address = f"{config.read_from}/api/v1/query_range"
        self._client = httpx.Client(
            timeout=min(config.timeout_s, READ_WITHIN_S),
            headers={"Authorization": f"Bearer {token}"} if token else {},
            trust_env=False,  # what writes to it goes there directly, too
        )

    def close(self) -> None:
        """Close its connections."""
        self._client.close()

    def read(self, vessel: str, sensor: str, start_ms: int, to_ms: int, step_ms: int) -> list[Bucket]:
        """Give the buckets from a multiple of the step on that begin before ``to_ms``, oldest first.

        Raises:
            HistoryReadError: where the server cannot say.
        """
        # Ids are slugs, so nothing in them needs escaping.
        labels = f'yard="{self._yard}",vessel="{vessel}",sensor="{sensor}"'
        window = f"{{{labels}}}[{step_ms}ms] offset -{step_ms + AHEAD_MS}ms"
        query = " or ".join(
            f'label_replace({function}({MEASUREMENT}_{field}{window}), "sum", "{key}", "", "")'
            for key, (function, field) in SUMS.items()
        )
        # A window holds its end and not its beginning; a bucket holds its beginning.
        asked_ms = start_ms - 1 - AHEAD_MS
        last_ms = asked_ms + (to_ms - 1 - start_ms) // step_ms * step_ms
        sums: dict[str, dict[int, float]] = defaultdict(dict)
        found = self._ask(query, asked_ms, last_ms, step_ms)
        try:
            for series in found["data"]["result"]:
                for at_s, value in series["values"]:
                    sums[series["metric"]["sum"]][round(at_s * 1000) + 1 + AHEAD_MS] = float(value)
            return buckets_of(sums)
        except (LookupError, TypeError, ValueError) as error:
            raise HistoryReadError(NONSENSE) from error

    def _ask(self, query: str, start_ms: int, end_ms: int, step_ms: int) -> Any:  # noqa: ANN401 - JSON
        asked = {
            "query": query,
            "start": f"{start_ms / 1000:.3f}",
            "end": f"{end_ms / 1000:.3f}",
            "step": f"{step_ms / 1000:.3f}",
            "nocache": "1",  # VictoriaMetrics: else it moves the steps to where its cache has them
        }
        try:
            answer = self._client.post(self._address, data=asked)
            answer.raise_for_status()
            return answer.json()
        except httpx.HTTPStatusError as error:
            raise HistoryReadError(f"it answered {error.response.status_code}") from error
        except httpx.HTTPError as error:
            raise HistoryReadError(f"{type(error).__name__}: {error}") from error
        except ValueError as error:
            raise HistoryReadError(NONSENSE) from error

"""Reads history in Flux, as InfluxDB 2 serves it: one query a sensor."""

from collections import defaultdict
from datetime import UTC, datetime
from typing import Any

from influxdb_client.client.flux_csv_parser import FluxCsvParserException, FluxQueryException
from influxdb_client.client.influxdb_client import InfluxDBClient
from influxdb_client.rest import ApiException
from urllib3.exceptions import HTTPError

from monitor.model.views import Bucket
from monitor.store.history_config import HistoryConfig
from monitor.store.history_points import FLAG, MEASUREMENT, VALUE
from monitor.store.history_read import READ_WITHIN_S, HistoryReadError, buckets_of

SUMS = {
    "low": ("min", VALUE),
    "high": ("max", VALUE),
    "mean": ("mean", VALUE),
    "count": ("count", VALUE),
    "worst": ("max", FLAG),
}


class FluxSource:
    """The server's query API.

    Args:
        config: the server.
        yard: the yard whose points are read.
    """

    def __init__(self, config: HistoryConfig, yard: str) -> None:
        self._bucket, self._yard = config.bucket, yard
        self._client: Any = InfluxDBClient(  # the client leaves much of itself without types
            url=config.read_from,
            token=config.token.get_secret_value(),
            org=config.org,
            timeout=round(min(config.timeout_s, READ_WITHIN_S) * 1000),
        )

    def close(self) -> None:
        """Close its connections."""
        self._client.close()

    def read(self, vessel: str, sensor: str, start_ms: int, to_ms: int, step_ms: int) -> list[Bucket]:
        """Give the buckets from a multiple of the step on that begin before ``to_ms``, oldest first.

        Raises:
            HistoryReadError: where the server cannot say.
        """
        # Whole steps: windows begin at multiples of their length, and what a range cuts off would be missing in them.
        stop_ms = start_ms + -((start_ms - to_ms) // step_ms) * step_ms
        sums: dict[str, dict[int, float]] = defaultdict(dict)
        try:
            for table in self._client.query_api().query(self._query(vessel, sensor, start_ms, stop_ms, step_ms)):
                for record in table.records:
                    start = round(record.get_time().timestamp() * 1000)
                    sums[record["sum"]][start] = float(record.get_value())
        except ApiException as error:
            raise HistoryReadError(f"it answered {error.status}: {error.reason}") from error
        except (HTTPError, OSError) as error:
            raise HistoryReadError(f"{type(error).__name__}: {error}") from error
        except FluxQueryException as error:
            raise HistoryReadError(f"it could not carry the query out: {error.message}") from error
        except (FluxCsvParserException, LookupError, TypeError, ValueError, AttributeError) as error:
            raise HistoryReadError("its answer is none of a Flux query") from error
        return buckets_of(sums)

    def _query(self, vessel: str, sensor: str, start_ms: int, stop_ms: int, step_ms: int) -> str:
        # Ids are slugs and the bucket is the yard's own setting.
        bucket = self._bucket.replace("\\", "\\\\").replace('"', '\\"')
        sums = ",\n".join(
            f'  data |> filter(fn: (r) => r._field == "{field}") |> toFloat()'
            f' |> aggregateWindow(every: {step_ms}ms, fn: {function}, timeSrc: "_start", createEmpty: false)'
            f' |> toFloat() |> set(key: "sum", value: "{key}")'
            for key, (function, field) in SUMS.items()
        )
        return (
            f'data = from(bucket: "{bucket}") |> range(start: {_time(start_ms)}, stop: {_time(stop_ms)})'
            f' |> filter(fn: (r) => r._measurement == "{MEASUREMENT}" and r.yard == "{self._yard}"'
            f' and r.vessel == "{vessel}" and r.sensor == "{sensor}")\n'
            f'union(tables: [\n{sums}\n]) |> keep(columns: ["_time", "_value", "sum"])'
        )


def _time(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

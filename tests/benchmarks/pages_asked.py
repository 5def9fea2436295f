"""What a page costs the server: asked of the application itself, with no socket between."""

import asyncio
import gzip
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fastapi import FastAPI

TIMES = 7


@dataclass(frozen=True, slots=True)
class Cost:
    """What a page costs, medians: of the processor and by the clock (ms), and its size plain and packed (bytes).

    ``first_ms`` is the processor's time when it was asked for the first time.
    """

    first_ms: float
    cpu_ms: float
    wall_ms: float
    size: int
    packed: int

    def __add__(self, other: "Cost") -> "Cost":
        """Give what two pages cost together."""
        return Cost(
            self.first_ms + other.first_ms,
            self.cpu_ms + other.cpu_ms,
            self.wall_ms + other.wall_ms,
            self.size + other.size,
            self.packed + other.packed,
        )


def costs_of(
    app: FastAPI, addresses: Sequence[str], session: str, *, before: Callable[[str], object], times: int = TIMES
) -> list[Cost]:
    """Ask for pages in turns, so that what else the machine does meets them alike.

    Args:
        app: the application.
        addresses: of the pages.
        session: of whoever asks.
        before: done before each question, and not measured.
        times: how often each is asked for, once more than that.
    """
    return asyncio.run(_costs(app, addresses, session, before, times))


async def _costs(
    app: FastAPI, addresses: Sequence[str], session: str, before: Callable[[str], object], times: int
) -> list[Cost]:
    cpu: list[list[float]] = [[] for _ in addresses]
    wall: list[list[float]] = [[] for _ in addresses]
    bodies = [b""] * len(addresses)
    for _ in range(times + 1):
        for number, address in enumerate(addresses):
            await asyncio.to_thread(before, address)
            began_cpu, began = time.process_time(), time.perf_counter()
            bodies[number] = await _body(app, address, session)
            wall[number].append((time.perf_counter() - began) * 1000)
            cpu[number].append((time.process_time() - began_cpu) * 1000)
    return [
        Cost(c[0], statistics.median(c[1:]), statistics.median(w[1:]), len(gzip.decompress(b)), len(b))
        for c, w, b in zip(cpu, wall, bodies, strict=True)
    ]


async def _body(app: FastAPI, address: str, session: str) -> bytes:
    path, _, query = address.partition("?")
    headers = [(b"host", b"localhost"), (b"accept-encoding", b"gzip"), (b"cookie", f"coldberth={session}".encode())]
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "headers": headers,
        "client": ("127.0.0.1", 1),
        "server": ("localhost", 80),
    }
    parts: list[bytes] = []
    status = 0

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, object]) -> None:
        nonlocal status
        if message["type"] == "http.response.start":
            status = int(str(message["status"]))
        else:
            parts.append(message.get("body", b""))  # type: ignore[arg-type]

    await app(scope, receive, send)
    if status != 200:
        raise SystemExit(f"{address} was answered with {status}: {b''.join(parts)[:200]!r}")
    return b"".join(parts)

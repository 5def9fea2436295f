"""A real VictoriaMetrics that a test starts, kills and starts again."""

import json
import os
import re
import subprocess
import time
import urllib.parse
import urllib.request
from pathlib import Path
from typing import Any

from fixtures_broker import free_port


class Victoria:
    """A VictoriaMetrics process with its own directory and port, which it keeps over restarts."""

    def __init__(self, program: str, directory: Path) -> None:
        directory.mkdir(parents=True, exist_ok=True)
        self.directory = directory
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self._command = [
            program,
            f"-storageDataPath={directory / 'data'}",
            f"-httpListenAddr=127.0.0.1:{self.port}",
            "-retentionPeriod=100y",
            "-dedup.minScrapeInterval=1ms",
            "-search.latencyOffset=1s",
            "-memory.allowedBytes=268435456",
        ]
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it answers."""
        with (self.directory / "log").open("ab") as log:
            self._process = subprocess.Popen(self._command, stdout=log, stderr=subprocess.STDOUT)
        until = time.monotonic() + 20
        while not self._answers():
            if self._process.poll() is not None or time.monotonic() > until:
                raise RuntimeError(f"victoria-metrics does not answer: {(self.directory / 'log').read_text()}")
            time.sleep(0.05)

    def stop(self) -> None:
        """Stop it cleanly, where it runs."""
        if self._process is not None:
            self._process.terminate()
            self._process.wait(20)
            self._process = None

    def kill(self) -> None:
        """Stop it as a power cut does."""
        if self._process is not None:
            self._process.kill()
            self._process.wait(10)
            self._process = None

    def points(self, field: str, **labels: str) -> dict[tuple[str, str, str], list[tuple[int, float]]]:
        """Give every stored point of a field, repeats and all, in order of time, by (yard, vessel, sensor)."""
        wanted = ",".join(f'{label}="{value}"' for label, value in labels.items())
        found: dict[tuple[str, str, str], list[tuple[int, float]]] = {}
        for line in self._ask("/api/v1/export", {"match[]": f"reading_{field}{{{wanted}}}"}).splitlines():
            series: dict[str, Any] = json.loads(line)
            labelled = series["metric"]
            key = (labelled["yard"], labelled["vessel"], labelled["sensor"])
            found.setdefault(key, []).extend(zip(series["timestamps"], series["values"], strict=True))
        return {key: sorted(points) for key, points in found.items()}

    def show(self) -> None:
        """Have what was taken show in answers at once, and not in a second."""
        self._ask("/internal/force_flush", {})

    def queries(self) -> int:
        """Give how often it was asked to sum a span up, as it counts itself."""
        counted = re.search(
            r'^vm_http_requests_total{path="/api/v1/query_range"} (\d+)$', self._ask("/metrics", {}), re.MULTILINE
        )
        return 0 if counted is None else int(counted[1])

    def processor_s(self) -> float:
        """Give the processor time it has used."""
        words = (self._proc() / "stat").read_text().rsplit(")", 1)[1].split()
        return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

    def memory_mb(self) -> float:
        """Give the memory it holds."""
        return int((self._proc() / "statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6

    def size(self, part: str) -> int:
        """Give the bytes of a folder below its own."""
        return sum(file.stat().st_size for file in (self.directory / part).rglob("*") if file.is_file())

    def _proc(self) -> Path:
        if self._process is None:
            raise RuntimeError("victoria-metrics does not run")
        return Path("/proc") / str(self._process.pid)

    def _ask(self, path: str, form: dict[str, str]) -> str:
        data = urllib.parse.urlencode(form).encode()
        with urllib.request.urlopen(self.url + path, data, timeout=30) as answer:  # noqa: S310 - http
            text: str = answer.read().decode()
        return text

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.url}/health", timeout=1) as answer:  # noqa: S310 - http
                return bool(answer.status == 200)
        except OSError:
            return False

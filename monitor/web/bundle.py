"""The script that draws charts: taken once from the installed package, and kept in a file by its version."""

import os
import threading
from importlib.metadata import version
from pathlib import Path

import vl_convert

from monitor.charts import VEGA_LITE


class ChartBundle:
    """Makes the bundle when it is first asked for (some seconds), and reads it from its file ever after."""

    def __init__(self, cache_dir: Path) -> None:
        self.name = f"vega-{VEGA_LITE}-vlc-{version('vl-convert-python')}.js"
        self._path = cache_dir / self.name
        self._lock = threading.Lock()

    @property
    def address(self) -> str:
        """The address of the bundle; another version has another."""
        return f"/static/charts/{self.name}"

    def file(self) -> Path:
        """Give the bundle's file, made where it is not there yet."""
        with self._lock:
            if not self._path.is_file():
                self._path.parent.mkdir(parents=True, exist_ok=True)
                part = self._path.with_suffix(f".{os.getpid()}.part")
                part.write_text(_bundle(), "utf-8")
                part.replace(self._path)  # whole or not at all: another process may be making it too
        return self._path


def _bundle() -> str:
    # The package's types ask for the snippet that it does without.
    return str(vl_convert.javascript_bundle(None, vl_version=VEGA_LITE))  # type: ignore[arg-type]

"""Makes the yards of the pages' and the journal's tests known here; imported before them."""

import sys
from pathlib import Path

sys.path.extend(str(Path(__file__).parents[1] / room) for room in ("web", "store"))

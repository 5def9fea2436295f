"""``python -m monitor`` is the ``coldberth`` command."""

import sys

from monitor.cli import main

if __name__ == "__main__":
    sys.exit(main())

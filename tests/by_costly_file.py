"""Spreads tests over workers one by one, but for files whose fixtures are costly: each of those goes whole to one."""

from xdist.scheduler import LoadScopeScheduling

WHOLE = frozenset(
    {
        "tests/acceptance/test_frost_night.py",  # the night is lived through once
        "tests/cli/test_demo_and_replay.py",  # and the demo's winter
        "tests/simulator/score/test_fixed_set.py",  # and scored once
        "tests/store/test_history_victoria.py",  # the week is made once
        "tests/web/test_every_page.py",  # what is the same for several grades is looked at once
    }
)
"""Files, from the top of the checkout. (Marks for groups of tests do nothing under pytest 9.2 and pytest-xdist 3.8.)"""


class ByCostlyFile(LoadScopeScheduling):
    """Load scheduling with files kept together."""

    def _split_scope(self, nodeid: str) -> str:
        """Give what a test is kept together with: its file, or itself alone."""
        file = nodeid.split("::", 1)[0]
        return file if file in WHOLE else nodeid

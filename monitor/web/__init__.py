"""The pages and the API: they read views of the journal, and hand people's commands to the agent."""

from monitor.web.app import create_app
from monitor.web.changes import Changes
from monitor.web.deps import Deps, Health

__all__ = ["Changes", "Deps", "Health", "create_app"]

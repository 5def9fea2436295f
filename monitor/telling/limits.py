"""Limits of telling that are no setting of the yard's."""

from monitor.model.surroundings import HOUR_MS

MINUTE_MS = 60_000
FLEET_WORSE_EVERY = 3
"""Boats that join a fleet event are told in one message each so many times ``gather_min``."""
JOINS_WITHIN_MS = 12 * HOUR_MS
"""A boat joins a fleet event that is open where the last one joined it no longer ago: a night, not another week."""
TRACE_KEPT = 40
"""So many of the latest entries are kept of why people were told of a call, or not."""
OVER_KEPT = 1_000
"""So many alerts that are over are kept of an open call, to be named when all of it is."""

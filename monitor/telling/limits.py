"""Limits of telling that are no setting of the yard's."""

from monitor.model.surroundings import HOUR_MS

SECOND_MS = 1_000
MINUTE_MS = 60_000
FLEET_WORSE_EVERY = 3
"""Boats that join a fleet event are told in one message each so many times ``gather_min`` while its ladder climbs."""
CLIMBS_ANEW_WITH = 2
"""A boat that joins a fleet event begins its climb anew where no more than so many repeats of it are left."""
FLEET_GATHERS_MS = MINUTE_MS
"""A fleet event of alarms waits so long for further boats where duty was just rung of it."""
HANDING_GATHERS_MS = 10 * SECOND_MS
"""What somebody hands over waits so long for what they hand to the same person with it: one message, not one a boat."""
JOINS_WITHIN_MS = 12 * HOUR_MS
"""A boat joins a fleet event that is open where the last one joined it no longer ago: a night, not another week."""
TRACE_KEPT = 40
"""So many of the latest entries are kept of why people were told of a call, or not."""
OVER_KEPT = 10_000
"""So many alerts that are over are kept of an open call, to be named when all of it is: one of each boat of a large
yard, so that every owner hears of it."""
NAMED_AT_MOST = 5
"""So many boats are named in a reason; of more it says how many."""

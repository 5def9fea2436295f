"""Winters that can be known from the inside: weather, hulls, batteries, bilges, sensors, their faults, and a publisher.

The physics here is the simulator's own, in its own files: it imports neither `monitor.science` nor `monitor.rules`, so
that no rule is ever tested by the formula it uses itself.
"""

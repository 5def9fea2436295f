"""Published formulas, each with its equation, its source and a worked value; no I/O, no clock, no state of its own."""

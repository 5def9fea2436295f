"""How well the watch did in simulated winters, held against the truth and against fixed thresholds."""

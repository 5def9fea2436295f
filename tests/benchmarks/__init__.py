"""Benchmarks: ratios measured side by side in one run on the machine at hand. ``python -m tests.benchmarks``."""

"""Measures of speed, run by hand: ``python -m tests.benchmarks.solving`` and its neighbours. No test asks for a time."""

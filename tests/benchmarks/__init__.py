"""Measures of speed, run by hand: ``python -m tests.benchmarks.bench_solving`` and its neighbours. No test asks for a time."""

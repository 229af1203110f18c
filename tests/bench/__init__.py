"""Measurements: how well, how fast, how sure. `python -m tests.bench --help`."""

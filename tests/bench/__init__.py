"""Benchmarks: ratios, both sides measured in one run. ``python -m tests.bench`` (or ``make bench``) prints them."""

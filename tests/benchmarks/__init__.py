"""Benchmarks: by ratio, in one run, and nothing asserted about time."""

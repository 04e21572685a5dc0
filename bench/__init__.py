"""Benchmarks: whole-process figures, growth with size, and ratios against a peer in the same run."""

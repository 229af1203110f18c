"""Makes practice recordings with known truth: speech from a synthesiser, placed on a time line.

A tool for tests, benchmarks and the demonstration. Nothing in `voxlog` imports it, and it needs
the `[samples]` extra, whose phoneme library is under the GPL (see README.md beside this file).
"""

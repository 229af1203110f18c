"""From a recording to stretches of speech: file -> 16 kHz blocks -> voice -> segments.

Read `recording`, `vad`, `burst`, `segment`, `segmenting`, in that order. Inside the pipeline a time
is an integer: the index of a sample on the recording's own 16 kHz clock, counted from its start.
"""

__all__ = ["RATE"]

RATE = 16_000
"""Samples a second of every block, whatever the file's own rate (what both speech models take)."""

"""How good a log is: events against the truth of the same recording. Pure.

Read `score` for the method, then `matching` and `tally`.
"""

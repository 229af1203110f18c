"""Numbers as crews say them. Pure.

Read in this order: normalise (text), vocabulary and words (text as letters of a grammar), run (one
run of number words), quantity and unit_duration (what it means), parse (the questions asked of it);
then say (the way back) and sound_alike (what it may be mistaken for).
"""

"""voxlog: a log of a run, made from what was said on the intercom.

Read the folders in the order in which data flows::

    sheet/    run sheet (YAML) -> Sheet, and the phrases it makes sayable
    numbers/  spoken numbers, both ways
    audio/    recording -> segments of speech
    speech/   segments -> utterances: what may have been said, with evidence
    follow/   utterances + sheet -> events: what was done, skipped, out of order, unconfirmed
    log/      events -> the run folder: append-only log, table, verification
    report/   events -> what people read
    score/    events against a truth

``pipeline.py`` is the table of contents; ``cli/`` is what the user types.
"""

__version__ = "0.1.0"

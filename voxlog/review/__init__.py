"""A run's review: what people decided about the rows of a closed log, and what follows from it.

For whoever shows or uses a review, three modules are enough:

    decision.py     Decision: one reviewer's word on one row, checked when it is made
    review_log.py   read_review(folder), append_decision(folder, decision): review.jsonl
    outcome.py      outcomes(events, decisions), is_reviewed(...): what now stands

    events = read_events(folder)                      # voxlog.log.verify
    for outcome in outcomes(events, read_review(folder).decisions):
        ...

Rows are counted as in events.csv, from 1. An event that a reviewer added gets the next number after
the log's own rows, in the order of review.jsonl, so that others can decide on it too. The log
itself never changes once it is closed.
"""

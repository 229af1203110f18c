"""From events to the run folder: the hash-chained log, its table, and the proof they are whole.

Read `record`, `chain`, `table`, `folder`, `verify`, in that order; `finding` says which rows a
person must look at.
"""

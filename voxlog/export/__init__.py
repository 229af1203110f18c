"""A run's log in the formats that other tools read. Pure, but for source.py and files.py.

    source.py      run folder -> ExportRun, with the review's outcome if there is one
    clock.py       the log's times -> those of an outside recorder
    run.py         ExportRun, Row: what every format is made from
    csv_table edf webvtt parquet bids xes textgrid     ExportRun -> Written, one format each
    formats.py     their names
    files.py       where the files go, and what is refused

What a format cannot carry is said in its module, and in Written.notes where it really happened.
"""

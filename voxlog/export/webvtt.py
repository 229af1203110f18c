"""WebVTT: a caption a row, for the video of the run. Pure. https://www.w3.org/TR/webvtt1/

A caption shows for a second at least, so the end of a shorter row is not carried; nor are rows that
end before the video begins. Text is one line (text.label); its number finds the row in the log.
"""

from voxlog.export.run import ExportRun, Row, Written
from voxlog.export.text import label, one_line

__all__ = ["SHOWN_MS", "to_webvtt"]

SHOWN_MS = 1000


def to_webvtt(run: ExportRun) -> Written:
    """Captions in order of time; the cue's identifier is the row's number."""
    shown = sorted(
        (row for row in run.rows if row.start_ms >= 0 or row.end_ms > 0),
        key=lambda row: (max(row.start_ms, 0), row.n),
    )
    about = f"{run.program}, run {run.name}, sheet {run.sheet}, {run.review}"
    blocks = [f"WEBVTT {_escape(run.title)}", f"NOTE {_escape(about)}", *map(_cue, shown)]
    lost = len(run.rows) - len(shown)
    note = f"WebVTT has no time before the video begins: {lost} rows are left out"
    return Written(("\n\n".join(blocks) + "\n").encode(), notes=(note,) if lost else ())


def _cue(row: Row) -> str:
    start = max(row.start_ms, 0)
    end = max(row.end_ms, start + SHOWN_MS)
    return f"{row.n}\n{_timestamp(start)} --> {_timestamp(end)}\n{_escape(label(row))}"


def _timestamp(ms: int) -> str:
    """Hours have two digits or more: 00:01:23.250."""
    seconds, ms = divmod(ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}.{ms:03}"


def _escape(text: str) -> str:
    """Also keeps `-->` out of the text, which would begin a cue."""
    line = one_line(text)
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")

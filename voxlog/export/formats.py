"""The formats by name, with the end of the file's name that their readers know. Pure."""

from collections.abc import Callable
from typing import NamedTuple

from voxlog.export.bids import to_bids
from voxlog.export.csv_table import to_csv
from voxlog.export.edf import to_edf
from voxlog.export.parquet import to_parquet
from voxlog.export.run import ExportRun, Written
from voxlog.export.textgrid import to_textgrid
from voxlog.export.webvtt import to_webvtt
from voxlog.export.xes import to_xes

__all__ = ["FORMATS", "Format"]


class Format(NamedTuple):
    """suffix: after the run's name, where no file was named."""

    suffix: str
    write: Callable[[ExportRun], Written]


FORMATS: dict[str, Format] = {
    "edf": Format(".edf", to_edf),
    "vtt": Format(".vtt", to_webvtt),
    "csv": Format(".csv", to_csv),
    "parquet": Format(".parquet", to_parquet),
    "bids": Format("_events.tsv", to_bids),
    "xes": Format(".xes", to_xes),
    "textgrid": Format(".TextGrid", to_textgrid),
}

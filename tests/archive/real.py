"""A small archive of real recordings: pieces of the demonstration, and a file that is no audio."""

from collections.abc import Sequence
from pathlib import Path

import duckdb
import soundfile

from tests.cli.conftest import SHEET
from voxlog.archive.archive import ArchiveRequest, ArchiveResult, Runner, log_archive
from voxlog.speech.model_files import DEFAULT_MODEL

ROOT = Path(__file__).parents[2]
PIECES = 3
PIECE_S = 6


def make_tree(folder: Path) -> None:
    """PIECES recordings, each other audio, and bad.wav; and the sheet beside the tree."""
    tree = folder / "tree"
    tree.mkdir()
    samples, rate = soundfile.read(ROOT / "samples_synthetic/demo.flac", dtype="float32")
    length = PIECE_S * rate
    for n in range(PIECES):
        soundfile.write(tree / f"run-{n}.flac", samples[n * length : (n + 1) * length], rate)
    (tree / "bad.wav").write_bytes(b"RIFF but no audio")
    (folder / "tiny.yaml").write_text(SHEET, encoding="utf-8")


def log_tree(folder: Path, out: Path, runner: Runner) -> ArchiveResult:
    """Log what make_tree made."""
    cache = ROOT / ".cache/voxlog"
    request = ArchiveRequest(folder / "tree", folder / "tiny.yaml", out, DEFAULT_MODEL, cache)
    return log_archive(request, runner, lambda done, of: None)


def logs(out: Path) -> dict[str, bytes]:
    """The log of each run, by the name of its folder."""
    return {log.parent.name: log.read_bytes() for log in sorted(out.glob("runs/*/events.jsonl"))}


def rows(out: Path) -> Sequence[tuple[object, ...]]:
    files = f"read_parquet('{out}/events/*/*.parquet', hive_partitioning=true)"
    return duckdb.sql(f"select * from {files} order by run, n").fetchall()

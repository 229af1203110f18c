"""Make debrief.html of a run folder. It is derived: the log neither knows it nor waits for it."""

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from voxlog.debrief.clip import MOST, clip_uri, clip_window
from voxlog.debrief.findings import Finding, findings_of_run
from voxlog.debrief.page import render_page
from voxlog.debrief.read import read_run
from voxlog.debrief.sound import Sound, read_sound
from voxlog.errors import InputError

__all__ = ["DEBRIEF", "write_debrief"]

DEBRIEF = "debrief.html"


def write_debrief(folder: Path, out: Path | None = None, *, with_clips: bool = True) -> Path:
    """Make the page and put it in its place, whole or not at all; the place.

    out: the file; `debrief.html` in the folder unless given. InputError for a folder whose log is
    not whole, or a place that cannot be written.
    """
    place = folder / DEBRIEF if out is None else out
    run = read_run(folder)
    findings = findings_of_run(run)
    heard = findings[:MOST] if with_clips else []
    windows = [clip_window(one.event, run.seconds) for one in heard]
    sound = read_sound(folder, run, windows)
    page = render_page(run, findings, sound, _clips(heard, sound), _base(folder, place))
    _put(place, page)
    return place


def _clips(heard: Sequence[Finding], sound: Sound) -> dict[int, str]:
    """By the finding's number; none where no channel could be read.

    Encoding lets other threads run, so all cores do it: it is the longest wait of a page.
    """
    pairs = [pair for pair in zip(heard, sound.clips, strict=False) if len(pair[1])]
    with ThreadPoolExecutor() as pool:
        uris = pool.map(clip_uri, [samples for _, samples in pairs])
        return {finding.number: uri for (finding, _), uri in zip(pairs, uris, strict=True)}


def _base(folder: Path, place: Path) -> str:
    """The folder as seen from the page, for links: they hold while both move together."""
    way = Path(os.path.relpath(folder.absolute(), place.absolute().parent)).as_posix()
    return "" if way == "." else f"{way}/"


def _put(place: Path, page: str) -> None:
    partial = place.with_name(f"{place.name}.partial")
    try:
        partial.write_text(page, encoding="utf-8", newline="")
        partial.replace(place)
    except OSError as error:
        raise InputError(
            f"{place}: cannot be written ({error.strerror}); name another file with --out"
        ) from error
    finally:
        partial.unlink(missing_ok=True)

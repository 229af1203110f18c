"""The audio of a run, put on the disk as it comes, whatever else the machine is busy with.

One AU file a channel. A thread writes each block as soon as it is there; a second one asks the disk
every quarter of a second to have it for good, because a slow disk must not hold back the writing:
what is written outlives the program, what is synchronised outlives a power cut.
"""

import threading
import time
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from voxlog.capture.au import AuFile, read_header, read_samples
from voxlog.capture.block import Block
from voxlog.disk import sync_directory
from voxlog.errors import InputError

__all__ = ["Journal", "JournalNews", "Recovered", "channel_files", "recover"]

HELD_BYTES = 64 * 1024 * 1024
"""Audio kept in memory while the disk takes none: nearly nine minutes of four channels."""

SYNC_SECONDS = 0.25
RETRY_SECONDS = 1.0
CLOSE_SECONDS = 5.0
"""How long a run's end waits for a disk that takes nothing."""


class JournalNews(NamedTuple):
    """What the log must know about the keeping of the audio.

    Attributes:
        what: `stopped`, the disk takes no audio, which is held in memory; `going-on`, it does
            again, what was held first; `lost`, audio that there was no memory for, so the file has
            silence in its place (or, at the end of a run, ends before it).
        text: the same for people, with what to do.
        first: the sample it begins with.
        samples: how many are lost; 0 for the others.
    """

    what: Literal["stopped", "going-on", "lost"]
    text: str
    first: int
    samples: int = 0


class Journal:
    """Takes blocks and never makes the caller wait for the disk.

        journal = Journal(run / "audio", source.channels, source.rate)
        for block in source.blocks():
            journal.push(block)
            log(journal.take_news())
        journal.close()
        log(journal.take_news())

    A sample's place in the file is its index: what was lost is silence there. A disk that is full
    or fails stops the file and not the run; it is tried again every second.

    Args:
        folder: made if it is not there.
        channels: as many files, `channel-1.au` and so on.
        rate: samples a second.
        goes_on: files that are there, from a run that broke off, are gone on with. The indexes of
            the blocks must lie behind what they hold.

    Raises:
        InputError: the files cannot be made (or are there already, or have another rate).
    """

    def __init__(
        self,
        folder: Path,
        channels: int,
        rate: int,
        *,
        goes_on: bool = False,
    ) -> None:
        self._news: SimpleQueue[JournalNews] = SimpleQueue()
        self._channels = channels
        self._files = _open_files(folder, channels, rate, goes_on=goes_on)
        self._held: deque[Block] = deque()
        self._held_bytes = 0
        self._refused: tuple[int, int] | None = None  # first sample, and the one after the last
        self._written = 0
        self._safe = 0
        self._write_fault = ""
        self._sync_fault = ""
        self._changed = threading.Condition()
        self._closing = threading.Event()
        self._all_written = threading.Event()
        self._threads = [
            threading.Thread(target=self._write_all, name="journal", daemon=True),
            threading.Thread(target=self._sync_all, name="journal-sync", daemon=True),
        ]
        for thread in self._threads:
            thread.start()

    @property
    def fault(self) -> str:
        """Why audio is not on the disk at this moment, as a line to show; empty when it is."""
        return self._write_fault or self._sync_fault

    @property
    def safe_samples(self) -> int:
        """Every sample before this index would outlive a power cut now."""
        return self._safe

    @property
    def held_bytes(self) -> int:
        """Audio in memory that is not written yet."""
        return self._held_bytes

    def push(self, block: Block) -> None:
        """Takes a block to be written; the caller must not change its samples any more."""
        if len(block.samples) != self._channels:
            raise ValueError(f"{self._channels} channels expected, {len(block.samples)} came")
        with self._changed:
            if self._held_bytes + block.samples.nbytes > HELD_BYTES:
                first, _ = self._refused or (block.first, 0)
                self._refused = (first, block.end)
                return
            if self._refused:
                self._news.put(_lost(*self._refused))
                self._refused = None
            self._held.append(block)
            self._held_bytes += block.samples.nbytes
            self._changed.notify_all()

    def wait_for_room(self, seconds: float = 1.0) -> None:
        """For audio that can wait, of a rehearsal: until half the memory is free, or so long."""
        with self._changed:
            self._changed.wait_for(lambda: self._held_bytes <= HELD_BYTES // 2, seconds)

    def take_news(self) -> list[JournalNews]:
        """What the log must know and was not told yet, in order."""
        return [self._news.get() for _ in range(self._news.qsize())]

    def close(self) -> int:
        """Writes and synchronises what is held, and closes the files.

        Returns the index after the last sample that is on the disk. Waits at most some seconds for
        a disk that takes nothing; what it did not take is reported as lost.
        """
        self._closing.set()
        with self._changed:
            self._changed.notify_all()
        for thread in self._threads:
            thread.join()
        if self._held or self._refused:
            first = self._held[0].first if self._held else self._refused[0] if self._refused else 0
            end = self._refused[1] if self._refused else self._held[-1].end
            self._news.put(_lost(first, end))
            self._held.clear()
            self._held_bytes = 0
        for file in self._files:
            file.close()
        return self._safe

    def _write_all(self) -> None:
        try:
            while (block := self._next()) is not None:
                if not self._write_patiently(block):
                    return
                with self._changed:
                    self._held.popleft()
                    self._held_bytes -= block.samples.nbytes
                    self._changed.notify_all()
        finally:
            self._all_written.set()

    def _next(self) -> Block | None:
        """Waits for a block; it stays among those held until it is written. None at the end."""
        with self._changed:
            self._changed.wait_for(lambda: self._held or self._closing.is_set())
            return self._held[0] if self._held else None

    def _write_patiently(self, block: Block) -> bool:
        """Tries until the disk takes it; False if it does not by the end of the run."""
        give_up_at: float | None = None
        while True:
            try:
                for file, samples in zip(self._files, block.samples, strict=True):
                    file.write(block.first, samples)
            except OSError as error:
                self._stop_at(block, error)
            else:
                self._written = block.end
                self._go_on_at(block)
                return True
            if self._closing.is_set():
                give_up_at = give_up_at or time.monotonic() + CLOSE_SECONDS
                if time.monotonic() >= give_up_at:
                    return False
                time.sleep(RETRY_SECONDS / 4)
            else:
                self._closing.wait(RETRY_SECONDS)

    def _stop_at(self, block: Block, error: OSError) -> None:
        if not self._write_fault:
            self._write_fault = _cannot_keep(self._files[0].path.parent, error)
            self._news.put(JournalNews("stopped", self._write_fault, block.first))

    def _go_on_at(self, block: Block) -> None:
        if self._write_fault:
            self._write_fault = ""
            folder = self._files[0].path.parent
            self._news.put(JournalNews("going-on", f"{folder}: audio is kept again", block.first))

    def _sync_all(self) -> None:
        """Also once after the last block was written."""
        at_the_end = False
        while not at_the_end:
            at_the_end = self._all_written.wait(SYNC_SECONDS)
            written = self._written
            try:
                for file in self._files:
                    file.sync()
            except OSError as error:
                if not self._sync_fault:
                    self._sync_fault = _cannot_keep(self._files[0].path.parent, error)
                    self._news.put(JournalNews("stopped", self._sync_fault, self._safe))
            else:
                self._sync_fault = ""
                self._safe = written


@dataclass(frozen=True)
class Recovered:
    """What a run that broke off has left.

    Attributes:
        paths: a file a channel, in their order. They are left as they are.
        rate: samples a second.
        samples: so many whole samples every channel has.
        longest: so many the longest channel has; a journal that goes on must begin here or later.
    """

    paths: tuple[Path, ...]
    rate: int
    samples: int
    longest: int

    def blocks(self, first: int = 0) -> Iterator[NDArray[np.int16]]:
        """The audio from an index on, shape (channels, n); all channels cut to the same length."""
        count = self.samples - first
        for parts in zip(*(read_samples(path, count, first) for path in self.paths), strict=True):
            yield np.stack(parts)


def recover(folder: Path) -> Recovered:
    """Finds the journal in a folder, wherever it was cut off.

    A run that was broken off while it was finished has FLAC files too: that one is over and not
    to be gone on with; `finish` ends it.

    Raises:
        InputError: there is none, a channel is missing, or a file is none of voxlog's.
    """
    paths = channel_files(folder, ".au")
    if not paths:
        raise InputError(f"{folder}: no audio of a run that broke off; name the run's audio folder")
    headers = [read_header(path) for path in paths]
    if len({header.rate for header in headers}) > 1:
        raise InputError(f"{folder}: channels of different rates; take out what is not of this run")
    counts = [
        header.samples_in(path.stat().st_size) for header, path in zip(headers, paths, strict=True)
    ]
    return Recovered(paths, headers[0].rate, min(counts), max(counts))


def channel_files(folder: Path, *suffixes: str) -> tuple[Path, ...]:
    """`channel-1`, `channel-2` and so on, each with the first of the suffixes that it has."""
    found: list[Path] = []
    while True:
        stem = f"channel-{len(found) + 1}"
        path = next((p for s in suffixes if (p := folder / (stem + s)).is_file()), None)
        if path is None:
            return tuple(found)
        found.append(path)


def _open_files(folder: Path, channels: int, rate: int, *, goes_on: bool) -> list[AuFile]:
    paths = [folder / f"channel-{number}.au" for number in range(1, channels + 1)]
    files: list[AuFile] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path in paths:
            is_there = path.exists()
            if is_there and not goes_on:
                raise InputError(f"{path}: there already; name another folder, or resume that run")
            if is_there and read_header(path).rate != rate:
                raise InputError(f"{path}: not {rate} samples a second; use the device of before")
            files.append(AuFile(path, rate, goes_on=is_there))
        sync_directory(folder)
    except OSError as error:
        for file in files:
            file.close()
        raise InputError(_cannot_keep(folder, error)) from error
    return files


def _cannot_keep(folder: Path, error: OSError) -> str:
    return f"{folder}: audio cannot be kept ({error.strerror or error}); free some space"


def _lost(first: int, end: int) -> JournalNews:
    text = f"{end - first} samples could not be kept; the audio has silence there"
    return JournalNews("lost", text, first, end - first)

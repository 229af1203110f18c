"""What is wrong with a recording that can still be logged: silence, clipping, a cut-short file.

Pure. It is fed while the blocks are read, before resampling smears a clipped peak, and asked for
its warnings when the reading is done, because most of them need the whole recording.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["AudioCheck"]

CLIPPED_SHARE = 0.001
"""A channel is called clipped when more than this share of its samples is at full scale."""

SILENT_PEAK = 2.5 / 32768
"""A channel that never leaves this is called silent: two steps of 16 bits, a dither's worth."""

SHORTFALL_SECONDS = 0.25
"""Less is no news: coders pad their last frame, and differ by some hundredths of a second."""


@dataclass
class _Counts:
    """Of the channels of one file, an array element each."""

    samples: int
    peak: NDArray[np.float32]
    at_full_scale: NDArray[np.int64]
    not_numbers: NDArray[np.int64]


class AudioCheck:
    """Adds up, channel by channel, what the blocks of one recording show."""

    def __init__(self) -> None:
        self._files: dict[int, _Counts] = {}
        self._file_lines: list[str] = []

    def add(self, first_channel: int, block: NDArray[np.float32], full_scale: float = 1.0) -> None:
        """Takes a block as it was decoded.

        Args:
            first_channel: the recording's channel (from 0) that the block's first column is.
            block: samples of shape (n, channels), 1.0 being full scale.
            full_scale: the largest value the file's sample format can hold.
        """
        size = np.abs(block)
        finite = np.isfinite(size)
        if not finite.all():
            size = np.where(finite, size, np.float32(0))
        counts = self._files.setdefault(first_channel, _no_counts(block.shape[1]))
        counts.samples += len(block)
        counts.peak = np.maximum(counts.peak, size.max(axis=0, initial=0))
        counts.at_full_scale += np.count_nonzero(size >= full_scale, axis=0)
        counts.not_numbers += np.count_nonzero(~finite, axis=0)

    def add_file(
        self, name: str, promised_seconds: float | None, seconds: float, fault: str = ""
    ) -> None:
        """Takes the end of a file: what its header promised, what came, what the decoder said."""
        if promised_seconds is not None and promised_seconds - seconds > SHORTFALL_SECONDS:
            self._file_lines.append(
                f"{name}: {promised_seconds:.1f} s promised by its header, {seconds:.1f} s came;"
                " the file is cut short"
            )
        elif fault:
            self._file_lines.append(
                f"{name}: damaged, {seconds:.1f} s could be read ({fault});"
                " later times may be too early"
            )

    def add_padding(self, name: str, seconds: float) -> None:
        """Takes how much silence was added to a file so that all are equally long."""
        if seconds > SHORTFALL_SECONDS:
            self._file_lines.append(
                f"{name}: {seconds:.1f} s shorter than the longest file; silence added at its end"
            )

    def warnings(self) -> tuple[str, ...]:
        """One line a finding: those of files first, then channel by channel (named from 1)."""
        channel_lines = [
            line
            for first_channel, counts in sorted(self._files.items())
            for column in range(len(counts.peak))
            for line in _channel_lines(first_channel + column + 1, counts, column)
        ]
        return (*self._file_lines, *channel_lines)


def _no_counts(channels: int) -> _Counts:
    zeros = np.zeros(channels, dtype=np.int64)
    return _Counts(0, np.zeros(channels, dtype=np.float32), zeros, zeros.copy())


def _channel_lines(number: int, counts: _Counts, column: int) -> list[str]:
    lines = []
    if not_numbers := counts.not_numbers[column]:
        lines.append(
            f"channel {number}: {not_numbers} samples are not numbers; silence put in their place"
        )
    if counts.peak[column] <= SILENT_PEAK:
        lines.append(f"no sound at all in channel {number}")
    share = counts.at_full_scale[column] / max(1, counts.samples)
    if share > CLIPPED_SHARE:
        lines.append(
            f"channel {number}: clipped, {100 * share:.1f} % of samples at full scale;"
            " turn the input down next time"
        )
    return lines

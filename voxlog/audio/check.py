"""What is wrong with a recording that can still be logged: silence, clipping, a cut-short file.

Pure. It is fed while the blocks are read, before resampling smears a clipped peak, and asked for
its warnings when the reading is done, because most of them need the whole recording.
"""

from dataclasses import dataclass, field

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
class _Channel:
    samples: int = 0
    peak: float = 0.0
    at_full_scale: int = 0
    not_numbers: int = 0


@dataclass
class AudioCheck:
    """Adds up, channel by channel, what the blocks of one recording show."""

    _channels: dict[int, _Channel] = field(default_factory=dict)
    _of_files: list[str] = field(default_factory=list)

    def add(self, first_channel: int, block: NDArray[np.float32], full_scale: float = 1.0) -> None:
        """Takes a block as it was decoded.

        Args:
            first_channel: the recording's channel (from 0) that the block's first column is.
            block: samples of shape (n, channels), 1.0 being full scale.
            full_scale: the largest value the file's sample format can hold.
        """
        for number, samples in enumerate(block.T, start=first_channel):
            self._add_channel(self._channels.setdefault(number, _Channel()), samples, full_scale)

    def add_file(
        self, name: str, promised_seconds: float | None, seconds: float, fault: str = ""
    ) -> None:
        """Takes the end of a file: what its header promised, what came, what the decoder said."""
        if promised_seconds is not None and promised_seconds - seconds > SHORTFALL_SECONDS:
            self._of_files.append(
                f"{name}: {promised_seconds:.1f} s promised by its header, {seconds:.1f} s came;"
                " the file is cut short"
            )
        elif fault:
            self._of_files.append(
                f"{name}: damaged, {seconds:.1f} s could be read ({fault});"
                " later times may be too early"
            )

    def add_padding(self, name: str, seconds: float) -> None:
        """Takes how much silence was added to a file so that all are equally long."""
        if seconds > SHORTFALL_SECONDS:
            self._of_files.append(
                f"{name}: {seconds:.1f} s shorter than the longest file; silence added at its end"
            )

    def warnings(self) -> tuple[str, ...]:
        """One line a finding: those of files first, then channel by channel (named from 1)."""
        of_channels = [
            line
            for number, channel in sorted(self._channels.items())
            for line in _channel_warnings(number + 1, channel)
        ]
        return (*self._of_files, *of_channels)

    @staticmethod
    def _add_channel(channel: _Channel, samples: NDArray[np.float32], full_scale: float) -> None:
        size = np.abs(samples)
        finite = np.isfinite(size)
        if not finite.all():
            channel.not_numbers += int(np.count_nonzero(~finite))
            size = size[finite]
        channel.samples += len(samples)
        channel.peak = max(channel.peak, float(size.max(initial=0.0)))
        channel.at_full_scale += int(np.count_nonzero(size >= full_scale))


def _channel_warnings(number: int, channel: _Channel) -> list[str]:
    lines = []
    if channel.not_numbers:
        lines.append(
            f"channel {number}: {channel.not_numbers} samples are not numbers;"
            " silence put in their place"
        )
    if channel.peak <= SILENT_PEAK:
        lines.append(f"no sound at all in channel {number}")
    if channel.at_full_scale > CLIPPED_SHARE * channel.samples:
        share = 100 * channel.at_full_scale / channel.samples
        lines.append(
            f"channel {number}: clipped, {share:.1f} % of samples at full scale;"
            " turn the input down next time"
        )
    return lines

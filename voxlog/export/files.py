"""Where an export goes: beside the run folder, never into it, nor over another file unasked."""

from pathlib import Path

from voxlog.errors import InputError
from voxlog.export.run import Written
from voxlog.log.disk import replace_through
from voxlog.log.folder import disk_errors

__all__ = ["check_place", "default_place", "save"]


def default_place(folder: Path, suffix: str) -> Path:
    """Beside the run folder: runs/s-07 and .vtt give runs/s-07.vtt."""
    name = f"{folder.resolve().name}{suffix}"
    return folder.parent / name if folder.name else Path("..") / name


def check_place(place: Path, folder: Path, beside: tuple[str, ...], *, overwrite: bool) -> None:
    """InputError for a place in the run folder, or where a file stands and may not be replaced."""
    if folder.resolve() in place.resolve().parents:
        raise InputError(
            f"{place}: in the run folder, whose files the log vouches for; name another place"
        )
    for path in (place, *(_beside(place, suffix) for suffix in beside)):
        if path.is_dir():
            raise InputError(f"{path}: a folder; name a file")
        if path.exists() and not overwrite:
            raise InputError(f"{path}: there already; name another file, or add --overwrite")


def save(place: Path, written: Written) -> list[Path]:
    """Each file whole or not at all; the paths. InputError where the disk does not take them."""
    with disk_errors(place):
        place.parent.mkdir(parents=True, exist_ok=True)
        replace_through(place, written.data)
        paths = [place]
        for suffix, data in written.beside.items():
            paths.append(_beside(place, suffix))
            replace_through(paths[-1], data)
    return paths


def _beside(place: Path, suffix: str) -> Path:
    return place.with_suffix(suffix)

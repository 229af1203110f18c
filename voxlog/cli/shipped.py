"""Files that come with voxlog: the sheets and the demonstration recording."""

from pathlib import Path

import voxlog
from voxlog.errors import InputError

__all__ = ["shipped"]


def shipped(name: str) -> Path:
    """Path of a file by its name in the repository, from a clone or from an installed package.

    An installed package carries copies in voxlog/shipped (pyproject.toml puts them there).
    """
    package = Path(voxlog.__file__).parent
    for root in (package / "shipped", package.parent):
        if (root / name).is_file():
            return root / name
    raise InputError(f"{name}: not part of this installation; install voxlog again, or clone it")

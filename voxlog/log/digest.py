"""SHA-256 of files and bytes, as the log writes it: 64 lower-case hex digits."""

import hashlib
from pathlib import Path

__all__ = ["bytes_sha256", "file_sha256"]


def bytes_sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def file_sha256(path: Path) -> str:
    """The digest of a file of any size, read in pieces. OSError passes through."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()

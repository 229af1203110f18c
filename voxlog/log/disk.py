"""Bytes on the disk for good: written, replaced or set aside so that a power cut loses nothing."""

import os
from pathlib import Path
from typing import Any

from voxlog.disk import sync_directory
from voxlog.log.digest import bytes_sha256

__all__ = ["keep_tail", "replace_through", "sync_directory", "write_all"]


def write_all(descriptor: int, data: bytes) -> None:
    """Write and sync. OSError passes through; some of it may be written then."""
    left = memoryview(data)
    while left:
        left = left[os.write(descriptor, left) :]
    os.fsync(descriptor)


def replace_through(path: Path, data: bytes) -> None:
    """The old file or the new one, whole, whatever happens."""
    draft = path.with_name(path.name + ".draft")
    with draft.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    os.replace(draft, path)  # noqa: PTH105  # stands beside os.fsync


def keep_tail(path: Path, tail: bytes) -> dict[str, Any]:
    """Copy what is not whole at the end of a file beside it; what the file's next line says of it.

    The copy is `<stem>.torn-N`, and is on the disk when this returns.
    """
    number = 1
    while (aside := path.with_name(f"{path.stem}.torn-{number}")).exists():
        number += 1
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
    descriptor = os.open(aside, flags, 0o666)
    try:
        write_all(descriptor, tail)
    finally:
        os.close(descriptor)
    sync_directory(path.parent)
    return {"torn": aside.name, "torn_bytes": len(tail), "torn_sha256": bytes_sha256(tail)}

"""Fetches the real human speech that some tests listen to: ``python -m tests.fetch``.

Part of the documented set-up, because tests themselves never reach the network. The clips come with
the source package of pocketsphinx and stay out of the repository; they lie in ``.cache/speech``.
"""

import hashlib
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

__all__ = ["clip", "fetch"]

CACHE = Path(__file__).parents[1] / ".cache" / "speech"
PACKAGE = "pocketsphinx==5.1.1"
SHA256 = "675778b309a22dfc9b7d37f7621976bba491d2a5f8c59696bd77fd6d07271355"
WANTED = ("cards/", "librivox/", "goforward.raw", "numbers.raw", "something.raw")


def clip(name: str) -> Path:
    """Path of a clip, named as under the package's ``test/data``: for instance cards/001.wav."""
    path = CACHE / name
    if not path.is_file():
        raise FileNotFoundError(f"{path}: not fetched; run: python -m tests.fetch")
    return path


def fetch() -> None:
    """Downloads the package, checks its digest and unpacks the clips, unless they are there."""
    if (CACHE / "complete").exists():
        return
    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable,
            "-m",
            "pip",
            "download",
            "--quiet",
            "--no-deps",
            "--dest",
            folder,
        ]
        subprocess.run([*command, "--no-binary", "pocketsphinx", PACKAGE], check=True)
        archive = next(Path(folder).glob("*.tar.gz"))
        digest = hashlib.sha256(archive.read_bytes()).hexdigest()
        if digest != SHA256:
            raise SystemExit(f"{archive.name}: SHA-256 is {digest}, not the expected {SHA256}")
        _unpack(archive)
    (CACHE / "complete").touch()


def _unpack(archive: Path) -> None:
    with tarfile.open(archive) as package:
        for member in package.getmembers():
            name = member.name.partition("/test/data/")[2]
            if member.isfile() and name.startswith(WANTED):
                target = CACHE / name
                target.parent.mkdir(parents=True, exist_ok=True)
                content = package.extractfile(member)
                assert content is not None
                target.write_bytes(content.read())


if __name__ == "__main__":
    fetch()
    print(f"clips are in {CACHE}")

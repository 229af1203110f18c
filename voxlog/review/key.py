"""Keys for signing: who has which, on the disk.

A private key is a PEM file (PKCS #8, RFC 5958) that only its owner can read, with a passphrase or
without. Its public half is one line of text, a signer's code and 32 bytes in hex:

    C-12 d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a

Such lines, collected in a file by whoever answers for them, are the known keys: what makes a
signature that of C-12 is this file, and how its lines got there. A code may have several keys, and
empty lines and what follows a # are left out.
"""

import hashlib
import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from voxlog.errors import InputError
from voxlog.log.disk import write_all
from voxlog.review.decision import check_code

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

__all__ = [
    "KnownKeys",
    "fingerprint",
    "make_key",
    "public_hex",
    "read_known_keys",
    "read_private_key",
]

KnownKeys = Mapping[str, frozenset[str]]
"""Code to public keys, in hex."""

_PUBLIC = re.compile(r"[0-9a-f]{64}")


def make_key(path: Path, code: str, passphrase: str = "") -> str:
    """Make a key pair in `path` and `path`.pub; the line for the file of known keys.

    InputError if one of the two files is there already or cannot be written.
    """
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    check_code(code)
    private = Ed25519PrivateKey.generate()
    sealing: serialization.KeySerializationEncryption = (
        serialization.BestAvailableEncryption(passphrase.encode())
        if passphrase
        else serialization.NoEncryption()
    )
    pem = private.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, sealing
    )
    line = f"{code} {public_hex(private)}"
    _write_new(path.with_name(path.name + ".pub"), f"{line}\n".encode(), 0o644)
    _write_new(path, pem, 0o600)
    return line


def read_private_key(path: Path, ask: Callable[[], str]) -> "Ed25519PrivateKey":
    """A private key. ask: for its passphrase, where it has one. InputError if it is none."""
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    pem = _read_secret(path)
    try:
        try:
            key = load_pem_private_key(pem, None)
        except TypeError:  # the one way in which the library says that it needs a passphrase
            key = load_pem_private_key(pem, ask().encode())
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise InputError(
            f"{path}: not a private key, or not with this passphrase; make one with voxlog key"
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise InputError(f"{path}: not an Ed25519 key; make one with voxlog key")
    return key


def read_known_keys(path: Path) -> KnownKeys:
    """The known keys of a file. InputError names the line that is none."""
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: cannot be read as text; name a file of known keys") from error
    keys: dict[str, frozenset[str]] = {}
    for number, line in enumerate(lines, 1):
        words = line.partition("#")[0].split()
        if not words:
            continue
        if len(words) != 2 or not _PUBLIC.fullmatch(words[1]):
            raise InputError(
                f"{path} line {number}: not a known key; a line is a code and 64 hex digits, "
                "as voxlog key prints it"
            )
        check_code(words[0])
        keys[words[0]] = keys.get(words[0], frozenset()) | {words[1]}
    return keys


def public_hex(private: "Ed25519PrivateKey") -> str:
    """The public key's 32 bytes in hex."""
    return private.public_key().public_bytes_raw().hex()


def fingerprint(public: str) -> str:
    """To read a public key out by telephone: the first 128 bits of its SHA-256, in hex, by fours.

    public: in hex.
    """
    digits = hashlib.sha256(bytes.fromhex(public)).hexdigest()[:32]
    return " ".join(digits[place : place + 4] for place in range(0, 32, 4))


def _read_secret(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            if mode & 0o077:
                raise InputError(f"{path}: others can read this key; chmod 600 {path}")
            return file.read()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror}); name a key made with voxlog key"
        ) from error


def _write_new(path: Path, data: bytes, mode: int) -> None:
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
        try:
            write_all(descriptor, data)
        finally:
            os.close(descriptor)
    except FileExistsError as error:
        raise InputError(f"{path}: is there already; name a new file") from error
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror}); name another place"
        ) from error

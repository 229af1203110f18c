"""A signature on a run's log and review, as a line of review.jsonl keeps it. Pure.

**What is signed**, to the byte: the RFC 8785 canonical JSON, in UTF-8 and without a line feed, of
the line's `statement`:

    format, version   "voxlog-signature", 1: nothing else signed with the key can be taken for this
    signer, at        the signer's code, and when (RFC 3339, UTC, microseconds)
    meaning           what the signature stands for: review, approval, responsibility, authorship
                      (the examples of 21 CFR 11.50)
    section           the review's section that is closed, from 1
    key               the signer's public key, 32 bytes as 64 hex digits
    log               `digest` of the closing record of events.jsonl, which vouches for every line
                      before it and for run.json, events.csv, utterances.jsonl and sheet.yaml
    review            n and `digest` of the line of review.jsonl before this one
    sheet             SHA-256 of sheet.yaml
    audio             path and SHA-256 of each file of the recording, as run.json has them
    rows              to_decide: rows with a finding or a decision; undecided: those of them that
                      were not agreed at that time

The line's `signature` is Ed25519 (RFC 8032, the pure form) over these bytes, 64 bytes as 128 hex
digits. So a signature can be checked without voxlog: canonical JSON of one field, and any Ed25519.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, get_args

import rfc8785

from voxlog.errors import InputError
from voxlog.review.decision import check_code, format_moment, parse_moment

__all__ = [
    "MEANINGS",
    "AudioDigest",
    "Meaning",
    "Signature",
    "Statement",
    "decode_signature",
    "encode_signature",
    "signed_bytes",
]

FORMAT = "voxlog-signature"
FORMAT_VERSION = 1

Meaning = Literal["review", "approval", "responsibility", "authorship"]

MEANINGS: tuple[Meaning, ...] = get_args(Meaning)

_HEX = re.compile(r"[0-9a-f]+")


@dataclass(frozen=True, slots=True)
class AudioDigest:
    """A file of the recording; path: relative to the run folder, as run.json has it."""

    path: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Statement:
    """What a signer puts the key to; see this module. Digests and key in lower-case hex."""

    signer: str
    at: datetime
    meaning: Meaning
    section: int
    key: str
    log: str
    review_n: int
    review_digest: str
    sheet: str
    audio: tuple[AudioDigest, ...]
    to_decide: int
    undecided: int


@dataclass(frozen=True, slots=True)
class Signature:
    """A statement with the 64 bytes, in hex, that Ed25519 makes of it."""

    statement: Statement
    signature: str


def signed_bytes(statement: Statement) -> bytes:
    """The bytes that are signed."""
    return rfc8785.dumps(_encode(statement))


def encode_signature(signature: Signature) -> dict[str, Any]:
    """The fields of a signature's line in review.jsonl."""
    return {"statement": _encode(signature.statement), "signature": signature.signature}


def decode_signature(fields: Mapping[str, Any]) -> Signature:
    """The signature of one line; ValueError for fields that encode_signature does not write."""
    try:
        said = fields["statement"]
        statement = Statement(
            signer=said["signer"],
            at=parse_moment(said["at"]),
            meaning=said["meaning"],
            section=said["section"],
            key=said["key"],
            log=said["log"],
            review_n=said["review"]["n"],
            review_digest=said["review"]["digest"],
            sheet=said["sheet"],
            audio=tuple(AudioDigest(file["path"], file["sha256"]) for file in said["audio"]),
            to_decide=said["rows"]["to_decide"],
            undecided=said["rows"]["undecided"],
        )
        check_code(statement.signer)
        signature = Signature(statement, fields["signature"])
        lengths = {signature.signature: 128, statement.key: 64}
        is_hex = all(_HEX.fullmatch(text) and len(text) == n for text, n in lengths.items())
    except (InputError, KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"not a signature: {error}") from error
    if not is_hex or statement.meaning not in MEANINGS or encode_signature(signature) != fields:
        raise ValueError("the signature contradicts itself")
    return signature


def _encode(statement: Statement) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "signer": statement.signer,
        "at": format_moment(statement.at),
        "meaning": statement.meaning,
        "section": statement.section,
        "key": statement.key,
        "log": statement.log,
        "review": {"n": statement.review_n, "digest": statement.review_digest},
        "sheet": statement.sheet,
        "audio": [{"path": file.path, "sha256": file.sha256} for file in statement.audio],
        "rows": {"to_decide": statement.to_decide, "undecided": statement.undecided},
    }

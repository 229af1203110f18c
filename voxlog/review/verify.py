"""Prove a run folder with its review and signatures: what changed, to the line.

The log, its files and the audio are log/verify.py's part; here is what joins on to it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from voxlog.errors import InputError
from voxlog.log import verify as log_verify
from voxlog.log.chain import open_line, split_lines
from voxlog.log.digest import file_sha256
from voxlog.log.folder import CHAINED
from voxlog.review.key import KnownKeys, fingerprint
from voxlog.review.review_log import read_kept, read_log_end
from voxlog.review.run_digests import RunDigests, read_run_digests
from voxlog.review.section import HEAD, REVIEW, Kept, Review
from voxlog.review.signature import Signature, signed_bytes

__all__ = ["Checked", "check_folder"]


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found of a whole run folder.

    log: what log/verify.py found. problems: what is wrong with log, review or signatures.
    notices: what is not wrong and should be known. signed: a line on each good signature.
    review: as far as it is whole. review_seal: digest of its last line; a copy kept elsewhere shows
    a review whose end was cut off together with its head.
    """

    log: log_verify.Report
    problems: tuple[str, ...]
    notices: tuple[str, ...] = ()
    signed: tuple[str, ...] = ()
    review: Review = field(default_factory=Review)
    review_seal: str = ""

    @property
    def is_whole(self) -> bool:
        return not self.problems


def check_folder(folder: Path, known: KnownKeys | None = None) -> Checked:
    """Check everything in a run folder; InputError if it is none or cannot be read.

    known: the keys that count; a signature with another one is a problem then. None: any key does,
    and a notice says that nobody vouches for it.
    """
    report = log_verify.verify(folder)
    try:
        kept = read_kept(folder, read_log_end(folder), is_thorough=True)
    except InputError:
        if not report.problems:
            raise
        told = (f"{REVIEW}: not checked, because the log is damaged",)
        return Checked(report, report.problems, told if (folder / REVIEW).exists() else ())
    try:
        signed = list(_check_signatures(folder, kept, known))
        copies = list(_check_copies(folder, kept))
    except OSError as error:
        raise InputError(f"{error.filename}: cannot be read ({error.strerror})") from error
    problems = (
        *report.problems,
        *([kept.problem] if kept.problem else _check_tail(kept)),
        *copies,
        *(_lost_audio(report) if kept.review.signatures else ()),
        *(each.problem for each in signed if each.problem),
    )
    return Checked(
        log=report,
        problems=problems,
        notices=(*_lag(kept), *(each.notice for each in signed if each.notice)),
        signed=tuple(each.text for each in signed if not each.problem),
        review=kept.review,
        review_seal=kept.last_digest,
    )


def _check_tail(kept: Kept) -> Iterator[str]:
    if kept.tail:
        line = kept.link.n + 1
        yield f"{REVIEW} line {line}: torn: it stops short; the next decision sets it aside"


def _check_copies(folder: Path, kept: Kept) -> Iterator[str]:
    """Files that a torn line of the log or the review was copied to, with the digests they had."""
    for name, sha256 in (*_torn_in_log(folder), *kept.torn):
        path = folder / Path(name).name
        if not path.is_file():
            yield f"{name}: missing"
        elif file_sha256(path) != sha256:
            yield f"{name}: changed since it was set aside"


def _torn_in_log(folder: Path) -> Iterator[tuple[str, str]]:
    for line in split_lines((folder / CHAINED).read_bytes()):
        record = (open_line(line) or {}) if b'"torn":' in line else {}
        if "torn" in record:
            yield str(record["torn"]), str(record.get("torn_sha256"))


def _lost_audio(report: log_verify.Report) -> Iterator[str]:
    """Audio that is not there proves nothing either way, unless somebody put a name to it."""
    for name in report.unchecked:
        yield f"{name}: missing, and it was signed"


def _lag(kept: Kept) -> Iterator[str]:
    if kept.is_behind:
        yield f"{HEAD}: does not know the last line yet, as after a power cut; it is kept"


@dataclass(frozen=True, slots=True)
class _SignatureCheck:
    text: str
    problem: str = ""
    notice: str = ""


def _check_signatures(
    folder: Path, kept: Kept, known: KnownKeys | None
) -> Iterator[_SignatureCheck]:
    if not kept.review.signatures:
        return
    try:
        digests = read_run_digests(folder)
    except InputError:
        digests = None  # run.json was changed, which is said of it
    for line, signature in zip(kept.signature_lines, kept.review.signatures, strict=True):
        where = f"{REVIEW} line {line}: signature of {signature.statement.signer}"
        text = _describe(signature)
        problem = _unmade(signature) or (digests and _over_other_things(signature, digests)) or ""
        notice = ""
        if not problem and not _is_known(signature, known or {}):
            mark = fingerprint(signature.statement.key)
            doubt = f"signed by a key nobody vouched for, fingerprint {mark}"
            problem, notice = ("", doubt) if known is None else (doubt, "")
        yield _SignatureCheck(
            text, f"{where}: {problem}" if problem else "", f"{where}: {notice}" if notice else ""
        )


def _describe(signature: Signature) -> str:
    said = signature.statement
    undecided = f", {said.undecided} undecided" if said.undecided else ""
    return (
        f"section {said.section} signed by {said.signer} ({said.meaning}) at "
        f"{said.at:%Y-%m-%d %H:%M:%S} UTC: {said.to_decide} rows to decide{undecided}"
    )


def _unmade(signature: Signature) -> str:
    """What is wrong where the bytes are not the key's over the statement."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    said = signature.statement
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(said.key))
        key.verify(bytes.fromhex(signature.signature), signed_bytes(said))
    except (InvalidSignature, ValueError):
        return "changed: not made with its key over what it states"
    return ""


def _over_other_things(signature: Signature, digests: RunDigests) -> str:
    said = signature.statement
    if said.sheet != digests.sheet:
        return "changed: sheet.yaml is not the one that was signed"
    if said.audio != digests.audio:
        return "changed: the audio is not that which was signed"
    return ""


def _is_known(signature: Signature, known: KnownKeys) -> bool:
    said = signature.statement
    return said.key in known.get(said.signer, frozenset())

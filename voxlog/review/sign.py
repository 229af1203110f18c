"""Sign a run: check that it is whole, then close the review's section with a signature."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from voxlog.errors import InputError
from voxlog.log.verify import read_events
from voxlog.review.decision import check_code
from voxlog.review.key import public_hex, read_private_key
from voxlog.review.outcome import outcomes
from voxlog.review.review_log import append_signature
from voxlog.review.run_digests import read_run_digests
from voxlog.review.section import Kept
from voxlog.review.signature import Meaning, Signature, Statement, signed_bytes
from voxlog.review.verify import check_folder

__all__ = ["sign"]


def sign(
    folder: Path, code: str, key_file: Path, ask: Callable[[], str], meaning: Meaning = "review"
) -> Signature:
    """Add a signature over everything in a run folder, and return it.

    A second code signs what the first signed and its signature, too: a countersignature. Decisions
    made later belong to a new section. ask: for the key's passphrase, if it has one.
    InputError for a folder that is not whole or lacks its audio, or a code that signed already.
    """
    check_code(code)
    private = read_private_key(key_file, ask)
    seal = _check(folder)
    digests = read_run_digests(folder)
    events = read_events(folder)
    key = public_hex(private)

    def make(kept: Kept) -> Signature:
        review = kept.review
        _refuse_twice(folder, kept, code, key)
        rows = outcomes(events, review.decisions)
        statement = Statement(
            signer=code,
            at=datetime.now(UTC),
            meaning=meaning,
            section=len(review.sections),
            key=key,
            log=seal,
            review_n=kept.link.n - 1,
            review_digest=kept.last_digest,
            sheet=digests.sheet,
            audio=digests.audio,
            to_decide=sum(bool(row.findings or row.latest) for row in rows),
            undecided=sum(row.needs_decision for row in rows),
        )
        return Signature(statement, private.sign(signed_bytes(statement)).hex())

    return append_signature(folder, make)


def _check(folder: Path) -> str:
    """The seal of a log that may be signed."""
    checked = check_folder(folder)
    if checked.problems:
        raise InputError(f"{folder}: {checked.problems[0]}; not signed: see voxlog verify")
    if checked.log.unchecked:
        raise InputError(
            f"{folder}: {checked.log.unchecked[0]} is not there, and a signature covers the audio; "
            "put it back"
        )
    return checked.log.seal


def _refuse_twice(folder: Path, kept: Kept, code: str, key: str) -> None:
    """One person signs a section once, whatever code and key they use."""
    section = kept.review.sections[-1]
    for signature in section.signatures:
        said = signature.statement
        if code == said.signer or key == said.key:
            raise InputError(
                f"{folder}: section {section.number} has been signed by {said.signer} with this "
                "code or key; another person may countersign"
            )

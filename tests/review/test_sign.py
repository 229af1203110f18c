"""A signature covers everything, once a person and section, and anybody can check it."""

import json
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.chain import START, Link, append, split_lines
from voxlog.log.digest import file_sha256
from voxlog.review.decision import Decision
from voxlog.review.review_log import REVIEW, append_decision, read_review
from voxlog.review.section import HEAD, format_head
from voxlog.review.sign import sign
from voxlog.review.signature import Signature, decode_signature, encode_signature
from voxlog.review.verify import check_folder

AT = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)


def clear(row: int, reviewer: str = "C-12") -> Decision:
    return Decision(reviewer, AT, "cleared", row, None, "a cough")


@pytest.fixture
def signer(keys: Path) -> Callable[..., Signature]:
    def put_name_to(run: Path, code: str, key: str = "") -> Signature:
        return sign(run, code, keys / (key or code), lambda: "")

    return put_name_to


def test_a_signature_states_everything_it_covers(
    run: Path, keys: Path, signer: Callable[..., Signature]
) -> None:
    append_decision(run, clear(2))
    last = json.loads((run / REVIEW).read_bytes().splitlines()[-1])
    said = signer(run, "C-12").statement
    log = [json.loads(line) for line in (run / "events.jsonl").read_bytes().splitlines()]
    assert (said.signer, said.meaning, said.section) == ("C-12", "review", 1)
    assert said.key == (keys / "C-12.pub").read_text().split()[1]
    assert said.log == log[-1]["digest"]
    assert (said.review_n, said.review_digest) == (1, last["digest"])
    assert said.sheet == file_sha256(run / "sheet.yaml")
    assert [(file.path, file.sha256) for file in said.audio] == [
        ("audio/channel-1.flac", file_sha256(run / "audio/channel-1.flac"))
    ]
    assert (said.to_decide, said.undecided) == (3, 2)
    assert abs((said.at - datetime.now(UTC)).total_seconds()) < 600
    assert read_review(run).is_signed


def test_openssl_finds_the_signature_good(
    run: Path, keys: Path, tmp_path: Path, signer: Callable[..., Signature]
) -> None:
    """Without voxlog: the statement as sorted JSON without spaces, which RFC 8785 is for ASCII text
    and whole numbers, and OpenSSL's Ed25519.
    """
    signer(run, "C-12")
    record = json.loads((run / REVIEW).read_bytes().splitlines()[-1])
    text = json.dumps(record["statement"], sort_keys=True, separators=(",", ":"))
    (tmp_path / "said").write_text(text)
    (tmp_path / "signature").write_bytes(bytes.fromhex(record["signature"]))

    def openssl(said: Path) -> int:
        command = ["openssl", "pkeyutl", "-verify", "-rawin", "-inkey", str(keys / "C-12")]
        files = ["-in", str(said), "-sigfile", str(tmp_path / "signature")]
        return subprocess.run([*command, *files], capture_output=True, check=False).returncode

    assert openssl(tmp_path / "said") == 0
    (tmp_path / "other").write_text(text.replace('"section":1', '"section":2'))
    assert openssl(tmp_path / "other") == 1


def test_a_run_nobody_reviewed_can_be_signed(run: Path, signer: Callable[..., Signature]) -> None:
    said = signer(run, "C-12").statement
    assert (said.review_n, said.to_decide, said.undecided) == (0, 3, 3)
    assert check_folder(run).problems == ()


def test_a_live_run_is_signed_in_the_same_way(
    live_run: Path, signer: Callable[..., Signature]
) -> None:
    append_decision(live_run, clear(4))
    signer(live_run, "C-12")
    assert check_folder(live_run).problems == ()


def test_another_person_countersigns_and_nobody_signs_twice(
    run: Path, signer: Callable[..., Signature]
) -> None:
    first = signer(run, "C-12")
    for code, key in (("C-12", "C-13"), ("C-14", "C-12")):
        with pytest.raises(InputError, match="section 1 has been signed by C-12"):
            signer(run, code, key)
    second = signer(run, "C-13")
    assert second.statement.review_n == first.statement.review_n + 1
    assert [each.statement.section for each in read_review(run).signatures] == [1, 1]
    assert len(check_folder(run).signed) == 2


def test_decisions_after_a_signature_start_a_section_linked_to_it(
    run: Path, signer: Callable[..., Signature]
) -> None:
    append_decision(run, clear(2))
    signer(run, "C-12")
    append_decision(run, clear(3, "C-13"))
    append_decision(run, clear(4, "C-13"))
    review = read_review(run)
    assert not review.is_signed
    assert [(len(one.decisions), len(one.signatures)) for one in review.sections] == [
        *((1, 1), (2, 0)),
    ]
    _, _, signature, opened, _, _ = map(json.loads, split_lines((run / REVIEW).read_bytes()))
    assert (opened["section"], opened["opened_by"]) == (2, "C-13")
    assert opened["signed"] == signature["digest"]
    signer(run, "C-12")
    assert [each.statement.section for each in read_review(run).signatures] == [1, 2]
    assert check_folder(run).problems == ()


def test_a_power_cut_after_a_signature_breaks_no_link(
    run: Path, signer: Callable[..., Signature]
) -> None:
    signer(run, "C-12")
    with (run / REVIEW).open("ab") as file:
        file.write(b'{"at":"2026')
    append_decision(run, clear(2))
    assert check_folder(run).problems == ()
    assert [len(section.decisions) for section in read_review(run).sections] == [0, 1]
    assert signer(run, "C-13").statement.section == 2
    assert check_folder(run).problems == ()


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("events.jsonl", r"events\.jsonl line \d"),
        ("sheet.yaml", "sheet.yaml: changed"),
        ("audio/channel-1.flac", "not the recording that was logged"),
        ("gone", "audio/channel-1.flac is not there"),
    ],
)
def test_a_folder_that_is_not_whole_is_not_signed(
    run: Path, name: str, message: str, signer: Callable[..., Signature]
) -> None:
    if name == "gone":
        (run / "audio/channel-1.flac").unlink()
    else:
        data = bytearray((run / name).read_bytes())
        data[9] ^= 1
        (run / name).write_bytes(data)
    with pytest.raises(InputError, match=message):
        signer(run, "C-12")
    assert not (run / REVIEW).exists()


def reseal(run: Path, change: Callable[[list[dict[str, object]]], None]) -> None:
    """What somebody does who knows the format: change the review, and make every digest anew."""
    lines = split_lines((run / REVIEW).read_bytes())
    records = [json.loads(line) for line in lines]
    link = Link(0, records[0]["prev"])
    change(records)
    data = b""
    for record in records:
        payload = {k: v for k, v in record.items() if k not in ("n", "prev", "digest")}
        line, link = append(payload, link)
        data += line
    (run / REVIEW).write_bytes(data)
    last = json.loads(line)
    (run / HEAD).write_bytes(format_head(last["n"], last["digest"]))


def test_a_review_sealed_anew_is_given_away_by_its_signature(
    run: Path, signer: Callable[..., Signature]
) -> None:
    append_decision(run, clear(2))
    signer(run, "C-12")
    reseal(run, lambda records: records[1].update(reason="a sneeze"))
    (problem,) = check_folder(run).problems
    assert problem == "review.jsonl line 3: changed: the signature is of another review"


def test_a_statement_made_to_fit_has_no_good_signature(
    run: Path, signer: Callable[..., Signature]
) -> None:
    signer(run, "C-12")

    def change(records: list[dict[str, object]]) -> None:
        statement = records[1]["statement"]
        assert isinstance(statement, dict)
        statement["at"] = "2020-01-01T00:00:00.000000Z"

    reseal(run, change)
    (problem,) = check_folder(run).problems
    assert problem.startswith("review.jsonl line 2: signature of C-12: changed: not made with")


def test_a_log_written_anew_is_given_away_by_its_review(
    run: Path, signer: Callable[..., Signature]
) -> None:
    signer(run, "C-12")
    lines = split_lines((run / "events.jsonl").read_bytes())
    data, link = b"", START
    for record in map(json.loads, lines):
        payload = {k: v for k, v in record.items() if k not in ("n", "prev", "digest")}
        line, link = append({**payload, "note": ""} if record["n"] == 0 else payload, link)
        data += line
    (run / "events.jsonl").write_bytes(data)
    assert check_folder(run).problems == (
        "review.jsonl line 1: changed: not the review of this log, or one of the two was "
        "written anew",
    )


@pytest.mark.parametrize(
    ("known", "problem", "notice"),
    [
        (None, "", "signed by a key nobody vouched for, fingerprint "),
        ({}, "signed by a key nobody vouched for, fingerprint ", ""),
        ({"C-13": "C-12"}, "signed by a key nobody vouched for, fingerprint ", ""),
        ({"C-12": "C-13"}, "signed by a key nobody vouched for, fingerprint ", ""),
        ({"C-12": "C-12"}, "", ""),
    ],
)
def test_whose_key_it_is_is_known_by_the_file_of_known_keys_alone(
    run: Path,
    keys: Path,
    signer: Callable[..., Signature],
    known: dict[str, str] | None,
    problem: str,
    notice: str,
) -> None:
    signer(run, "C-12")
    trusted = known and {
        code: frozenset({(keys / f"{name}.pub").read_text().split()[1]})
        for code, name in known.items()
    }
    checked = check_folder(run, trusted)
    where = "review.jsonl line 2: signature of C-12: "
    assert [text.partition(where)[2][: len(problem)] for text in checked.problems] == (
        [problem] if problem else []
    )
    assert [text.partition(where)[2][: len(notice)] for text in checked.notices] == (
        [notice] if notice else []
    )


def test_other_fields_are_no_signature(run: Path, signer: Callable[..., Signature]) -> None:
    fields = encode_signature(signer(run, "C-12"))
    assert encode_signature(decode_signature(fields)) == fields
    for name in fields["statement"]:
        less = {key: value for key, value in fields["statement"].items() if key != name}
        with pytest.raises(ValueError):
            decode_signature({**fields, "statement": less})
    for other in ("", fields["signature"][:-1], fields["signature"].upper(), 5, None):
        with pytest.raises(ValueError):
            decode_signature({**fields, "signature": other})


def test_signed_audio_that_is_gone_is_a_change(run: Path, signer: Callable[..., Signature]) -> None:
    (run / "audio/channel-1.flac").rename(run / "elsewhere")
    assert check_folder(run).problems == ()
    (run / "elsewhere").rename(run / "audio/channel-1.flac")
    signer(run, "C-12")
    (run / "audio/channel-1.flac").unlink()
    assert check_folder(run).problems == ("audio/channel-1.flac: missing, and it was signed",)


def test_an_event_that_was_added_is_signed_too(run: Path, signer: Callable[..., Signature]) -> None:
    event = Event(7.0, 7.5, "callout", "climb", "climb", "operator", value=5000.0, unit="ft")
    append_decision(run, Decision("C-12", AT, "added", None, event, "missed"))
    assert signer(run, "C-12").statement.to_decide == 4

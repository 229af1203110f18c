"""Read reviewed run folders and write what they say of their sheet as a diff. Changes no file."""

import difflib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voxlog.errors import InputError
from voxlog.learn.change import change_of
from voxlog.learn.lesson import Lesson, Run, lessons_of
from voxlog.learn.proposal import Proposal, weigh
from voxlog.log.verify import read_events
from voxlog.review.outcome import outcomes
from voxlog.review.verify import check_folder
from voxlog.sheet.load import load_sheet, read_sheet

__all__ = ["Learnt", "learn"]


@dataclass(frozen=True, slots=True)
class Learnt:
    """What is proposed.

    proposed: a line for each proposal and where it comes from. left_out: what was seen and is not
    proposed, and why. diff: unified, "" when nothing is proposed.
    """

    proposed: tuple[str, ...]
    left_out: tuple[str, ...]
    diff: str


def learn(folders: Sequence[Path], sheet_file: Path | None = None) -> Learnt:
    """Proposals for the sheet of some reviewed runs.

    sheet_file: the sheet to change, of the same id as the runs'; by default the one they used,
    which must be the same then. InputError for a folder that is not whole or a sheet that is not
    theirs.
    """
    runs = [_read_run(folder) for folder in folders]
    text, name = _target(folders, sheet_file)
    target = read_sheet(text, name)
    for folder, run in zip(folders, runs, strict=True):
        if run.sheet.id != target.id:
            raise InputError(
                f"{folder}: a run of sheet {run.sheet.id}, not of {target.id}; "
                "name runs of one sheet"
            )
    weighed = weigh(lesson for run in runs for lesson in lessons_of(run, target))
    total = len({run.seal for run in runs})
    changed, proposed, left_out = _apply(text, weighed.enough, total)
    left_out += [
        f"{_name(each)}: {against}; {_from(each.lessons)}" for each, against in weighed.disputed
    ]
    left_out += [
        f"{_name(each)}: too few, {_counts(each, total)}; {_from(each.lessons)}"
        for each in weighed.short
    ]
    return Learnt(tuple(proposed), tuple(left_out), _diff(text, changed, name))


def _read_run(folder: Path) -> Run:
    checked = check_folder(folder)
    if checked.problems:
        raise InputError(f"{folder}: {checked.problems[0]}; see voxlog verify")
    path = folder / "utterances.jsonl"
    try:
        utterances: list[dict[str, Any]] = [
            json.loads(line) for line in path.read_text(encoding="utf-8").split("\n") if line
        ]
    except (OSError, ValueError) as error:
        raise InputError(f"{path}: not as voxlog writes it; see voxlog verify") from error
    return Run(
        name=folder.name or str(folder),
        seal=checked.log.seal,
        sheet=load_sheet(folder / "sheet.yaml"),
        outcomes=outcomes(read_events(folder), checked.review.decisions),
        utterances=utterances,
    )


def _target(folders: Sequence[Path], sheet_file: Path | None) -> tuple[str, str]:
    """The text of the sheet to change and its name in the diff."""
    if sheet_file is not None:
        load_sheet(sheet_file)
        return _text_of(sheet_file), str(sheet_file)
    texts = {_text_of(folder / "sheet.yaml") for folder in folders}
    if len(texts) != 1:
        raise InputError(
            f"{folders[0]}: the runs did not use the same sheet; name the one to change "
            "with --sheet"
        )
    (text,) = texts
    return text, f"{read_sheet(text).id}.yaml"


def _text_of(path: Path) -> str:
    """With its line ends as they are."""
    return path.read_bytes().decode("utf-8-sig")


def _apply(
    text: str, proposals: Iterable[Proposal], total: int
) -> tuple[str, list[str], list[str]]:
    proposed, left_out = [], []
    for proposal in proposals:
        change = change_of(text, proposal)
        if change.text is None:
            left_out.append(f"{change.what}; {_from(proposal.lessons)}")
            continue
        text = change.text
        proposed.append(f"{change.what}; {_counts(proposal, total)}: {_from(proposal.lessons)}")
        proposed += [f"  then warned of: {warning}" for warning in change.warnings]
    return text, proposed, left_out


def _name(proposal: Proposal) -> str:
    step = f"item {proposal.step}" if proposal.step.isdigit() else proposal.step
    if proposal.kind == "unit":
        return f"{step} spoken in {proposal.unit}"
    if proposal.kind == "response":
        return f'{step} answered "{proposal.phrase}" ({proposal.act})'
    return f'{step} "{proposal.phrase}" misheard' if proposal.phrase else f"{step} not heard"


def _counts(proposal: Proposal, total: int) -> str:
    reviewers = "1 reviewer" if proposal.reviewers == 1 else f"{proposal.reviewers} reviewers"
    return f"{proposal.runs} of {total} runs, {reviewers}"


def _from(lessons: Sequence[Lesson]) -> str:
    """The rows, and which of them no reviewer put into words."""
    rows = ", ".join(
        f"{lesson.run} row {lesson.row}{'' if lesson.is_written else ' (as transcribed)'}"
        for lesson in lessons
    )
    return f"from {rows}"


def _diff(before: str, after: str, name: str) -> str:
    if before == after:
        return ""
    lines = difflib.unified_diff(_lines(before), _lines(after), name, name)
    return "".join(
        line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines
    )


def _lines(text: str) -> list[str]:
    """Cut at line feeds only, as patch does."""
    pieces = text.split("\n")
    return [*(f"{piece}\n" for piece in pieces[:-1]), *([pieces[-1]] if pieces[-1] else [])]

"""An audit of a small made-up table, for what shows it."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.audit.made_up import write_made_up
from voxlog.audit.audit import Audit, audit
from voxlog.audit.question import Question
from voxlog.audit.read import read_rows

__all__ = ["made_audit"]


@cache
def made_audit(question: Question = Question(), runs: int = 1000) -> Audit:  # noqa: B008
    """The same each time."""
    with TemporaryDirectory() as folder:
        write_made_up(Path(folder) / "table", runs)
        return audit(read_rows([Path(folder)], question), question)

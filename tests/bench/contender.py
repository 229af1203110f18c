"""`python -m tests.bench.contender ROW AUDIO SHEET OUT`: one way to log a run, in its own process.

Into the folder OUT go `events.csv`, the rows, and `heard.txt`, what was heard before the sheet was
walked through. What differs between ways is who listens; rows come of what was heard by the same
greedy walk and the same rules (baseline.py), but for voxlog's own.
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import soundfile

from tests.bench.baseline import baseline_events
from tests.bench.hints import hot_words, prompt
from tests.bench.moonshine import hear_with_moonshine
from tests.bench.phonemes import hear_with_phonemes
from tests.bench.runs import CACHE, log_run
from tests.bench.sphinx import hear_with_grammar, hear_with_language_model
from tests.bench.transcript import Line, Transcriber
from voxlog.cli.options import MODEL
from voxlog.errors import InputError
from voxlog.follow.event import Event
from voxlog.log.table import format_table
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Sheet
from voxlog.sheet.phrases import sheet_phrases

__all__ = ["CONTENDERS", "Contender"]

Hear = Callable[[Path, Sheet], list[Line]]


@dataclass(frozen=True, slots=True)
class Contender:
    """A row of the table. model: of voxlog, where it is voxlog. hear: its ears, where it is not."""

    title: str
    model: str = ""
    hear: Hear | None = None

    @property
    def is_voxlog(self) -> bool:
        return bool(self.model)


def _whisper(model: str, *, hot: bool, prompted: bool, audio: Path, sheet: Sheet) -> list[Line]:
    phrases = sheet_phrases(sheet)
    transcriber = Transcriber(
        CACHE,
        model,
        hot_words=hot_words(phrases) if hot else None,
        prompt=prompt(phrases) if prompted else None,
    )
    return transcriber.lines(audio)


def _hear_with_whisper(model: str, *, hot: bool, prompted: bool) -> Hear:
    def hear(audio: Path, sheet: Sheet) -> list[Line]:
        return _whisper(model, hot=hot, prompted=prompted, audio=audio, sheet=sheet)

    return hear


def _whisper_rows(model: str) -> dict[str, Contender]:
    rows = {}
    for name, hot, prompted in (
        ("", False, False),
        ("-hot", True, False),
        ("-prompt", False, True),
        ("-both", True, True),
    ):
        hints = [*(["hotwords"] if hot else []), *(["prompt"] if prompted else [])]
        title = " + ".join([f"faster-whisper {model}", *hints])
        hear = _hear_with_whisper(model, hot=hot, prompted=prompted)
        rows[f"{model}{name}"] = Contender(title, hear=hear)
    return rows


CONTENDERS = {
    "voxlog": Contender(f"voxlog ({MODEL})", MODEL),
    "voxlog-tiny": Contender("voxlog --model tiny.en", "tiny.en"),
    **_whisper_rows("tiny.en"),
    **_whisper_rows("base"),
    "grammar": Contender("pocketsphinx, the sheet's grammar", hear=hear_with_grammar),
    "language-model": Contender("pocketsphinx, open English", hear=hear_with_language_model),
    "moonshine": Contender("moonshine tiny", hear=hear_with_moonshine),
    "phonemes": Contender("hama, phonemes then letters", hear=hear_with_phonemes),
}


def _log(contender: Contender, audio: Path, sheet: Path) -> tuple[Sequence[Event], list[Line]]:
    if contender.hear is None:
        return log_run(audio, sheet, model=contender.model).events, []
    loaded = load_sheet(sheet)
    lines = contender.hear(audio, loaded)
    return baseline_events(lines, loaded, soundfile.info(audio).duration), lines


def main(row: str, audio: Path, sheet: Path, out: Path) -> None:
    """Log one recording in one way."""
    try:
        events, lines = _log(CONTENDERS[row], audio, sheet)
    except ModuleNotFoundError as error:
        raise InputError(f"{error.name}: not installed; pip install '.[beside]'") from None
    out.mkdir(parents=True, exist_ok=True)
    (out / "events.csv").write_text(format_table(events), encoding="utf-8")
    heard = "".join(f"{line.start:8.2f} {line.end:8.2f}  {line.text}\n" for line in lines)
    (out / "heard.txt").write_text(heard, encoding="utf-8")


if __name__ == "__main__":
    try:
        main(sys.argv[1], *map(Path, sys.argv[2:5]))
    except InputError as problem:
        print(problem, file=sys.stderr)
        sys.exit(2)

"""`python -m tests.bench unseen`: the log under conditions that no constant was set on.

What sets constants, and what is reported here, never meet:

- voices: `FIT` and those of the model's fitting set constants; here only `REPORT` voices speak.
- sheets and scripts: constants are set on the scenarios `fit-*`, whose sheet is hypoxia-25, and on
  `sheets/ferry.yaml`, `lock.yaml` and `mill.yaml`; here the sheets are `drill.yaml`, `kiln.yaml`
  and `dome.yaml` of that folder, the scripts `unseen-*.yaml`, used for nothing else.
- noise: the settings of `samples_synthetic/setting.py` are in no fitting, but for two rows to
  compare with: `clean`, and `compressor`, the kind of noise of the shipped scenarios. The noise
  under settings of the voice is of that kind too. The seeds are of no other recording.

The last row pools every setting but `clean` and `compressor`, and so do the tables of reliability
(`reliability.py` says what they are). `people` needs the human speech of
`python -m tests.fetch`, and is left out without it. Settings in which everything is spoken anew,
which takes longest, have the first two scripts; all others have each.
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import soundfile
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import write_recording
from samples_synthetic.scenario import load_scenario
from samples_synthetic.setting import SETTINGS, setting_of
from samples_synthetic.speak import Clip
from tests.bench.accuracy import FIGURES
from tests.bench.pool import Pooled, pool
from tests.bench.reliability import judge, print_reliability
from tests.bench.runs import MODEL, ROOT, log_run, say
from tests.fetch import CACHE as SPEECH
from voxlog.follow.event import Event
from voxlog.log.table import read_table

__all__ = ["add_options", "main"]

SHEETS = Path(__file__).with_name("sheets")
SCRIPTS = tuple(f"unseen-{letter}" for letter in "abcdefghijk")
UNSEEN = ROOT / ".cache" / "unseen"
TO_COMPARE = ("clean", "compressor")
COLUMNS = dict(
    zip(("Item status", "Recall", "False in 60", "with uncertain", "Values"), FIGURES, strict=False)
)


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--only", default=",".join(SETTINGS), metavar="LIST", help="settings, as helium,fan"
    )
    parser.add_argument("--model", default=MODEL, help="name or folder of the speech model")
    parser.add_argument("--runs", type=Path, default=UNSEEN, metavar="DIR", help="rendered runs")
    parser.add_argument("--detail", action="store_true", help="also name what was missed or false")


def main(options: argparse.Namespace) -> None:
    """Log every run, score, print."""
    compared: dict[str, list[tuple[Sequence[Event], Sequence[Event]]]] = {}
    for name in options.only.split(","):
        if setting_of(name).talk == "people" and not human_speech():
            say(f"{name}: left out; it needs human speech, run: python -m tests.fetch")
            continue
        compared[name] = [_compared(options, script, name) for script in scripts_of(name)]
        # All settings take long: what was measured is not lost when somebody stops it.
        measured = zip(COLUMNS, _cells(pool(compared[name])), strict=True)
        say(f"{name}: {', '.join(f'{column} {cell}' for column, cell in measured)}")
    if not compared:
        return
    results = {name: pool(runs) for name, runs in compared.items()}
    unseen = [run for name, runs in compared.items() if name not in TO_COMPARE for run in runs]
    console = Console(width=120, highlight=False)
    console.print(_table(options.model, results, pool(unseen) if unseen else None))
    if unseen:
        print_reliability([row for run in unseen for row in judge(*run)])
    if options.detail:
        _print_differences(console, results)


def scripts_of(name: str) -> tuple[str, ...]:
    """The scripts that are measured in a setting."""
    setting = setting_of(name)
    is_spoken_anew = setting.rate or setting.breath_words or setting.is_accented
    return SCRIPTS[:2] if is_spoken_anew else SCRIPTS


def human_speech() -> list[Clip]:
    """Clips of people reading aloud, 16 kHz; none if they were not fetched."""
    paths = sorted((SPEECH / "librivox").glob("*.wav"))
    return [soundfile.read(path, dtype="int16")[0] for path in paths]


def _compared(
    options: argparse.Namespace, script: str, name: str
) -> tuple[Sequence[Event], Sequence[Event]]:
    """The log of a script under a setting, and its truth; rendered if it is not there yet."""
    place = options.runs / f"{script}-{name}"
    scenario = load_scenario(SHEETS / f"{script}.yaml")
    if not (place / "scenario.yaml").is_file():  # the last file that is written
        say(f"{place.name}: rendering")
        setting = setting_of(name)
        people = human_speech() if setting.talk == "people" else ()
        write_recording(scenario, place, None, lambda done, of: None, setting, people)
    say(f"{place.name}: {options.model}")
    sheet = Path(scenario.sheet.file)
    log = log_run(place / "audio.flac", sheet, model=options.model).events
    return log, read_table(place / "truth.csv")


def _table(model: str, results: dict[str, Pooled], unseen: Pooled | None) -> Table:
    title = f"Conditions that nothing was fitted to, {model}"
    table = Table(box=box.SIMPLE_HEAD, title=title)
    table.add_column("Setting")
    for name in ("Runs", "Items", "Planted", *COLUMNS):
        table.add_column(name, justify="right")
    for name, pooled in results.items():
        table.add_row(name, *_counts(pooled), *_cells(pooled))
    if unseen and len(results) > 1:
        table.add_section()
        name = f"all but {' and '.join(TO_COMPARE)}"
        table.add_row(name, *_counts(unseen), *_cells(unseen))
    return table


def _counts(pooled: Pooled) -> list[str]:
    """Runs, items and planted deviations."""
    planted = pooled.findings.hits + pooled.findings.missed
    return [f"{count}" for count in (len(pooled.scores), pooled.item_status.total, planted)]


def _cells(pooled: Pooled) -> list[str]:
    measured = [(figure, figure.of(pooled)) for figure in COLUMNS.values()]
    return ["-" if found is None else f"{found:{figure.shape}}" for figure, found in measured]


def _print_differences(console: Console, results: dict[str, Pooled]) -> None:
    for name, pooled in results.items():
        for script, differences in zip(scripts_of(name), pooled.differences, strict=True):
            for each in sorted(differences, key=lambda one: one.start_s):
                console.print(
                    f"{script} {name}  {each.start_s:8.2f} s  {each.what:6}  {each.finding:12}  "
                    f"{each.kind} {each.item}"
                )

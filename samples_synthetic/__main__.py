"""Renders scenarios: `python -m samples_synthetic SCENARIO.yaml --out DIR`, or a whole `--set`."""

import argparse
import sys
import time
from pathlib import Path

import soundfile

from samples_synthetic.recording import CONDITIONS, Condition, write_recording
from samples_synthetic.scenario import load_scenario
from samples_synthetic.setting import SETTINGS, Setting, setting_of
from samples_synthetic.speak import Clip
from samples_synthetic.synthesiser import RATE
from voxlog.errors import InputError

_SCENARIOS = Path(__file__).with_name("scenarios")


def main() -> int:
    """Exit status: 0 rendered, 2 bad input."""
    options = _parser().parse_args()
    try:
        jobs = _jobs(options)
        setting = setting_of(options.setting) if options.setting else None
        people = _people(options.people) if options.people else []
        for path, folder, condition in jobs:
            _render(path, folder, condition, setting, people)
    except InputError as error:
        print(f"samples_synthetic: {error}", file=sys.stderr)
        return 2
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m samples_synthetic",
        description="Make practice recordings with known truth from scenario files.",
    )
    parser.add_argument("scenario", nargs="?", type=Path, help="a scenario file")
    parser.add_argument("--out", type=Path, help="folder for the recording of SCENARIO")
    parser.add_argument(
        "--over",
        choices=CONDITIONS,
        help="dB of speech over noise, or clean, in place of the scenario's own",
    )
    parser.add_argument(
        "--set",
        type=Path,
        metavar="DIR",
        help="render the shipped scenarios, each under every condition, into DIR/NAME-CONDITION",
    )
    parser.add_argument(
        "--only", default="", metavar="PREFIX", help="with --set: scenarios that start with this"
    )
    parser.add_argument(
        "--setting",
        metavar="NAMES",
        help="in place of the scenario's own sound; one of these, or several with + between: "
        + ", ".join(SETTINGS),
    )
    parser.add_argument(
        "--people", type=Path, metavar="DIR", help="16 kHz WAV files of the talk of people"
    )
    return parser


def _people(folder: Path) -> list[Clip]:
    clips = [soundfile.read(path, dtype="int16") for path in sorted(folder.glob("*.wav"))]
    if not clips or any(rate != RATE or clip.ndim > 1 for clip, rate in clips):
        raise InputError(f"--people {folder}: name a folder with mono WAV files of {RATE} Hz")
    return [clip for clip, _ in clips]


def _jobs(options: argparse.Namespace) -> list[tuple[Path, Path, Condition | None]]:
    if options.setting and (options.set or options.over):
        raise InputError("--setting is for one SCENARIO, and without --over: it has its own noise")
    if options.set and not options.scenario:
        conditions: tuple[Condition, ...] = (options.over,) if options.over else CONDITIONS
        names = sorted(_SCENARIOS.glob(f"{options.only}*.yaml"))
        if not names:
            raise InputError(
                f"--only {options.only}: no shipped scenario starts so; see {_SCENARIOS}"
            )
        return [(p, options.set / f"{p.stem}-{c}", c) for p in names for c in conditions]
    if options.scenario and options.out and not options.set:
        return [(options.scenario, options.out, options.over)]
    raise InputError("name a SCENARIO and --out DIR, or --set DIR")


def _render(
    path: Path,
    folder: Path,
    condition: Condition | None,
    setting: Setting | None,
    people: list[Clip],
) -> None:
    started = time.monotonic()
    scenario = load_scenario(path)
    seconds = write_recording(scenario, folder, condition, _progress, setting, people)
    took = time.monotonic() - started
    print(
        f"{folder}: {seconds / 60:.1f} min of audio in {took:.0f} s "
        f"({60 * took / seconds:.1f} s a minute)",
        file=sys.stderr,
    )


def _progress(done: int, of: int) -> None:
    end = "\n" if done == of else ""
    if not (end or sys.stderr.isatty()):
        return
    print(f"\r  speaking {done} of {of} new lines", end=end, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())

"""Runs a measurement and prints its table: `python -m tests.bench accuracy --only clean,5`."""

import argparse
import sys

from tests.bench import (
    accuracy,
    audit,
    beside,
    certainty,
    confusable,
    cost,
    fit,
    human_speech,
    live,
    reliability,
    speakers,
    speed,
    unlisted,
    unseen,
)
from voxlog.errors import InputError

_SUBCOMMANDS = {
    "accuracy": (accuracy, "how right the log is, at four levels of noise, beside the targets"),
    "speed": (speed, "time and memory of a 20-minute run, and of the follower alone"),
    "cost": (cost, "processor time by stage, and against the encoder's"),
    "audit": (audit, "time and memory of an audit of 10,000 made-up runs"),
    "live": (live, "how soon rows are in the log of a running run; with --soak, two hours"),
    "fit": (fit, "the weights of evidence, set on voices and scenarios kept for that"),
    "fit-certainty": (certainty, "how sure a row is, set on recordings disturbed for that"),
    "human-speech": (human_speech, "real human speech: word errors and choice of phrase"),
    "unseen": (unseen, "how right the log is under conditions that nothing was fitted to"),
    "beside": (beside, "voxlog and other recognisers on the same audio, in one table"),
    "confusable": (confusable, "readings that sound alike: right, uncertain, wrong and sure"),
    "speakers": (speakers, "who spoke on a mixed channel: voices told apart, own answers found"),
    "unlisted": (unlisted, "speech that the sheet does not list: how much is taken for a phrase"),
    "reliability": (reliability, "whether rows with p = 0.9 are right nine times in ten"),
}


def main() -> int:
    """Exit status: 0 measured, 2 bad input."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="WHAT")
    for name, (module, text) in _SUBCOMMANDS.items():
        command = commands.add_parser(name, help=text, description=module.__doc__)
        module.add_options(command)
        command.set_defaults(run=module.main)
    options = parser.parse_args()
    try:
        options.run(options)
    except (InputError, FileNotFoundError) as error:
        print(f"tests.bench: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""A scenario to its truth without a synthesiser: every line lasts as long as its letters."""

from pathlib import Path

from samples_synthetic.scenario import load_scenario
from samples_synthetic.script import Said
from samples_synthetic.timeline import lay_out
from samples_synthetic.truth import true_events
from samples_synthetic.walk import write_script
from voxlog.follow.event import Event

ROOT = Path(__file__).parents[2]

SCENARIO = f"""\
voxlog-scenario: 1
sheet: {ROOT / "grammars" / "demo.yaml"}
seed: 3
cast:
  conductor: {{voice: bf_emma}}
  attendant: {{voice: am_eric}}
  operator: {{voice: bm_george}}
  monitor: {{voice: af_heart}}
plant:
"""


def seconds_of(said: Said) -> float:
    return 0.3 + 0.06 * len(said.text)


def rehearse(path: Path) -> list[Event]:
    scenario = load_scenario(path)
    spoken = lay_out(write_script(scenario), seconds_of)
    return true_events(scenario.sheet, spoken, length=10_000.0)


def write_scenario(folder: Path, *plants: str) -> Path:
    path = folder / "scenario.yaml"
    path.write_text(SCENARIO + "".join(f"  - {plant}\n" for plant in plants), encoding="utf-8")
    return path

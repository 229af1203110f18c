"""The scenario file: which sheet, who speaks with which voice, and what goes wrong where.

The script follows the sheet, so a scenario only lists its deviations:

    voxlog-scenario: 1
    sheet: ../../grammars/hypoxia-25.yaml
    seed: 11
    cast:
      conductor: {voice: bf_emma, speed: 1.05}
    sound: {over: 10, breathing: -6}
    plant:
      - skip: 14
      - hold: {at: 30, resume: 27}
      - misread: climb 15000

Checked here: the file itself. Whether item 14 can be skipped is checked where it is planted.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from samples_synthetic.render import Sound
from samples_synthetic.voices import ALL
from voxlog.errors import InputError
from voxlog.sheet.load import load_sheet
from voxlog.sheet.model import Item, Sheet
from voxlog.sheet.tree import Tree, read_tree

__all__ = ["DEVIATIONS", "Cast", "Deviation", "Plant", "Scenario", "load_scenario", "places"]

Deviation = Literal[
    "skip",
    "skip-phase",
    "swap",
    "unanswered",
    "receipt",
    "deny",
    "off-limit",
    "off-limit-reading",
    "misread",
    "no-read-back",
    "no-callout",
    "late",
    "late-call",
    "ask-twice",
    "say-again",
    "stand-by",
    "correction",
    "no-challenge",
    "disregard",
    "one-breath",
    "no-pause",
    "self-answered",
    "hold",
    "chatter",
]

_Place = Literal["item", "value item", "phase", "callout", "read-back", "elapsed"]

DEVIATIONS: Final[Mapping[Deviation, _Place]] = {
    "skip": "item",  # neither asked nor answered
    "skip-phase": "phase",  # none of its items
    "swap": "item",  # done after the item that follows it
    "unanswered": "item",  # asked, then silence
    "receipt": "item",  # answered by "roger" only
    "deny": "item",  # answered by its opposite
    "off-limit": "value item",  # answered by a value outside its limits
    "off-limit-reading": "item",  # a reading outside its limits, after the item
    "misread": "read-back",  # read back with another value
    "no-read-back": "read-back",  # called, not read back
    "no-callout": "callout",  # a level passed in silence
    "late": "item",  # answered after its time
    "late-call": "elapsed",  # an elapsed-time call after its time
    "ask-twice": "item",  # asked again before the answer
    "say-again": "item",  # asked again on request
    "stand-by": "item",  # "stand by", then the answer in time
    "correction": "value item",  # "X, correction Y"
    "no-challenge": "item",  # answered before it is asked
    "disregard": "item",  # another item asked first and taken back
    "one-breath": "item",  # asked together with the item that follows it
    "no-pause": "item",  # answered with no gap after the challenge
    "self-answered": "item",  # answered by the voice that asked; on a mixed channel only
    "hold": "item",  # after it the work stops and resumes at an earlier item
    "chatter": "item",  # after it, free talk that uses its words
}


class _Part(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=lambda n: n.replace("_", "-")
    )


class Cast(_Part):
    """One position's voice; speed 1 is the voice's own."""

    voice: str
    speed: float = Field(1.0, ge=0.7, le=1.4)


class _Sound(_Part):
    over: float | None = Field(None, ge=-20, le=60)
    breathing: float | None = Field(-6.0, ge=-60, le=20)
    clip: float | None = Field(None, ge=0, le=40)
    cross_talk: float | None = Field(None, ge=0, le=80)
    channels: Literal["mono", "positions"] = "mono"


class Plant(_Part):
    """One deviation: what, where, and for some a resume item or the words."""

    what: Deviation
    at: str
    resume: int | None = None
    reading: str | None = None
    say: str | None = None


def _written_plant(written: Any) -> Any:
    """`{skip: 14}` and `{hold: {at: 30, resume: 27}}` as the fields of a Plant."""
    if not isinstance(written, dict) or len(written) != 1:
        raise ValueError("write one deviation as `name: place`")
    what, where = next(iter(written.items()))
    fields = where if isinstance(where, dict) else {"at": where}
    return {**fields, "what": what, "at": str(fields.get("at", ""))}


class _File(_Part):
    version: Literal[1] = Field(alias="voxlog-scenario")
    sheet: str
    seed: int = Field(ge=0)
    cast: dict[str, Cast]
    sound: _Sound = Field(default_factory=lambda: _Sound.model_validate({}))
    plant: tuple[Annotated[Plant, BeforeValidator(_written_plant)], ...] = ()


@dataclass(frozen=True, slots=True)
class Scenario:
    """A checked scenario and the sheet it follows."""

    name: str
    text: str
    sheet: Sheet
    seed: int
    cast: Mapping[str, Cast]
    sound: Sound
    by_position: bool
    plants: tuple[Plant, ...]


def load_scenario(path: Path) -> Scenario:
    """Read a scenario and its sheet; InputError names the file, the line and the cure."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path}: cannot be read ({error}); name a scenario file") from None
    tree = read_tree(text)
    if tree.faults:
        mark, fault = tree.faults[0]
        raise InputError(f"{path}:{mark.line}: {fault}")
    try:
        file = _File.model_validate(tree.data)
    except ValidationError as error:
        raise InputError(_complaint(path, tree, error)) from None
    sheet = load_sheet(path.parent / file.sheet)
    _check_cast(path, tree, file, sheet)
    by_position = file.sound.channels == "positions"
    for index, plant in enumerate(file.plant):
        where = f"{path}:{tree.mark(('plant', index)).line}"
        _check_plant(where, plant, sheet, is_by_position=by_position)
    sound = Sound(file.sound.over, file.sound.breathing, file.sound.clip, file.sound.cross_talk)
    return Scenario(path.stem, text, sheet, file.seed, file.cast, sound, by_position, file.plant)


def _complaint(path: Path, tree: Tree, error: ValidationError) -> str:
    # A misspelt key is also a missing one; only the misspelling says what to mend.
    errors = error.errors(include_url=False)
    first = min(errors, key=lambda fault: fault["type"] != "extra_forbidden")
    place = tree.mark(first["loc"])
    what = ".".join(str(part) for part in first["loc"])
    message = first["msg"].removeprefix("Value error, ")
    return f"{path}:{place.line}: {what}: {message}; the format is in samples_synthetic/README.md"


def _check_cast(path: Path, tree: Tree, file: _File, sheet: Sheet) -> None:
    for position, cast in file.cast.items():
        if cast.voice not in ALL:
            line = tree.mark(("cast", position)).line
            raise InputError(f"{path}:{line}: no voice {cast.voice!r}; use one of {', '.join(ALL)}")
    missing = [position for position in sheet.positions if position not in file.cast]
    if missing:
        line = tree.mark(("cast",)).line
        raise InputError(f"{path}:{line}: cast lacks {', '.join(missing)}; give each a voice")


def _check_plant(where: str, plant: Plant, sheet: Sheet, *, is_by_position: bool) -> None:
    place = DEVIATIONS[plant.what]
    known = places(sheet)[place]
    if plant.at not in known:
        some = ", ".join(list(known)[:8])
        raise InputError(f"{where}: {plant.what} needs a {place}, not {plant.at!r}; such as {some}")
    if plant.what == "hold":
        keys = [item.key for item in sheet.items]
        if str(plant.resume) not in keys[: keys.index(plant.at) + 1]:
            raise InputError(f"{where}: hold needs `resume:` with item {plant.at} or one before it")
    if plant.what == "self-answered" and is_by_position:
        raise InputError(f"{where}: self-answered is a matter of voices; it needs channels: mono")
    if plant.what == "chatter" and not plant.say:
        raise InputError(f"{where}: chatter needs `say:` with the words")
    if plant.what == "off-limit-reading" and not any(r.id == plant.reading for r in sheet.readings):
        raise InputError(f"{where}: off-limit-reading needs `reading:` with a reading's id")


def places(sheet: Sheet) -> Mapping[_Place, tuple[str, ...]]:
    """Where a deviation may be planted in a sheet, by the kind of place."""
    callouts = [callout for phase in sheet.phases for callout in phase.callouts]
    return {
        "item": tuple(item.key for item in sheet.items),
        "value item": tuple(item.key for item in sheet.items if item.value),
        "phase": tuple(p.id for p in sheet.phases if any(isinstance(s, Item) for s in p.steps)),
        "callout": tuple(f"{c.id} {level:g}" for c in callouts for level in c.levels),
        "read-back": tuple(
            f"{c.id} {level:g}" for c in callouts if c.read_back for level in c.levels
        ),
        "elapsed": tuple(
            f"{e.id} {due:g}" for p in sheet.phases for e in p.elapsed for due in e.due
        ),
    }

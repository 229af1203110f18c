"""What no single field of a sheet can know: names that exist nowhere, numbers used twice.

The rules read the plain data of the YAML text, not the Sheet, so that they still report when a
field elsewhere is wrong. They pass over anything of the wrong type; its own field complains.
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import chain
from typing import Any, Final, NamedTuple

from voxlog.sheet.marks import Loc
from voxlog.sheet.problem import nearest

__all__ = ["Breach", "breaches"]

Data = Mapping[str, Any]


class Breach(NamedTuple):
    """A rule broken at `loc`: what is wrong, what would be right.

    other: the part it clashes with; its line is to be named after `what`.
    """

    loc: Loc
    what: str
    cure: str
    other: Loc | None = None


def breaches(data: Data) -> Iterator[Breach]:
    """Every breach of every rule."""
    for rule in _RULES:
        yield from rule(data)


def _positions_exist(data: Data) -> Iterator[Breach]:
    positions = data.get("positions")
    if not isinstance(positions, Mapping):
        return
    for loc, name in _position_names(data):
        if isinstance(name, str) and name not in positions:
            near = nearest(name, positions)
            cure = f"did you mean `{near}`?" if near else f"known: {', '.join(positions)}"
            yield Breach(loc, f"no position `{name}`", cure)


def _position_names(data: Data) -> Iterator[tuple[Loc, Any]]:
    yield ("asks",), data.get("asks")
    for index, name in enumerate(_entries(data.get("inside"))):
        yield ("inside", index), name
    for loc, part in _spoken_parts(data):
        for key in ("by", "read-back"):
            yield (*loc, key), part.get(key)
        for index, name in enumerate(_entries(part.get("stand-in"))):
            yield (*loc, "stand-in", index), name


def _item_numbers_ascend(data: Data) -> Iterator[Breach]:
    seen: dict[int, Loc] = {}
    highest = 0
    for loc, step in _listed(data, "steps"):
        number, where = step.get("item"), (*loc, "item")
        if not isinstance(number, int) or isinstance(number, bool):
            continue
        if number in seen:
            what, cure = f"item {number} is already", "give one of them another number"
            yield Breach(where, what, cure, seen[number])
        elif number < highest:
            what = f"item {number} comes after item {highest}"
            yield Breach(where, what, "number the items upwards", seen[highest])
        seen.setdefault(number, where)
        highest = max(highest, number)


def _names_are_used_once(data: Data) -> Iterator[Breach]:
    """Phases have names of their own; cues, callouts, times and readings share the log's column."""
    yield from _repeats("phase ", ((*loc, "id") for loc, _ in _in_list(data, "phases")), data)
    cues = ((*loc, "cue") for loc, _ in _listed(data, "steps"))
    others = ((*loc, "id") for loc, _ in _named_parts(data))
    yield from _repeats("", chain(cues, others), data)


def _repeats(noun: str, places: Iterator[Loc], data: Data) -> Iterator[Breach]:
    seen: dict[str, Loc] = {}
    for loc in places:
        name = _at(data, loc)
        if isinstance(name, str) and seen.setdefault(name, loc) != loc:
            yield Breach(loc, f"{noun}`{name}` is already", "rename one of them", seen[name])


def _at(data: Any, loc: Loc) -> Any:
    for part in loc[:-1]:
        data = data[part]
    return data.get(loc[-1])


def _cues_exist(data: Data) -> Iterator[Breach]:
    cues = [step["cue"] for _, step in _listed(data, "steps") if isinstance(step.get("cue"), str)]
    for loc, part in _listed(data, "elapsed"):
        name = part.get("cue")
        if isinstance(name, str) and name not in cues:
            near = nearest(name, cues)
            cure = f"did you mean `{near}`?" if near else "add it as a step, `cue: NAME`"
            yield Breach((*loc, "cue"), f"no cue `{name}`", cure)


def _groups_stand_together(data: Data) -> Iterator[Breach]:
    last: dict[str, Loc] = {}
    previous: tuple[Loc, Any] = ((), None)
    for loc, step in _listed(data, "steps"):
        group = step.get("group")
        follows = previous[1] == group and previous[0][:2] == loc[:2]
        if isinstance(group, str):
            if group in last and not follows:
                what, cure = f"group `{group}` was left", "put its items next to each other"
                yield Breach((*loc, "group"), what, cure, last[group])
            last[group] = (*loc, "group")
        previous = (loc, group)


def _gates_look_back(data: Data) -> Iterator[Breach]:
    """A gate names items and phases that stand before it."""
    items: set[int] = set()
    phases: set[str] = set()
    named = [phase.get("id") for _, phase in _in_list(data, "phases")]
    numbers = [step.get("item") for _, step in _listed(data, "steps")]
    for loc, phase in _in_list(data, "phases"):
        yield from _unreached((*loc, "gate"), phase, (items, phases), (numbers, named))
        if isinstance(phase.get("id"), str):
            phases.add(phase["id"])
        for index, step in enumerate(_entries(phase.get("steps"))):
            if not isinstance(step, Mapping):
                continue
            where = (*loc, "steps", index, "gate")
            yield from _unreached(where, step, (items, phases), (numbers, named))
            if isinstance(step.get("item"), int):
                items.add(step["item"])


def _unreached(
    loc: Loc, part: Data, before: tuple[set[int], set[str]], all_: tuple[list[Any], list[Any]]
) -> Iterator[Breach]:
    for index, name in enumerate(_entries(part.get("gate"))):
        is_item = isinstance(name, int)
        if not isinstance(name, int | str) or name in before[0 if is_item else 1]:
            continue
        noun = f"item {name}" if is_item else f"phase `{name}`"
        if name in all_[0 if is_item else 1]:
            what, cure = f"{noun} does not stand before this gate", "name what comes before it"
        else:
            near = "" if is_item else nearest(str(name), [p for p in all_[1] if isinstance(p, str)])
            what, cure = f"no {noun}", f"did you mean `{near}`?" if near else "name one there is"
        yield Breach((*loc, index), what, cure)


_RULES: Final[tuple[Callable[[Data], Iterator[Breach]], ...]] = (
    _positions_exist,
    _item_numbers_ascend,
    _names_are_used_once,
    _cues_exist,
    _groups_stand_together,
    _gates_look_back,
)


def _spoken_parts(data: Data) -> Iterator[tuple[Loc, Data]]:
    yield from _listed(data, "steps")
    yield from _named_parts(data)


def _named_parts(data: Data) -> Iterator[tuple[Loc, Data]]:
    yield from _in_list(data, "readings")
    for key in ("callouts", "elapsed", "readings"):
        yield from _listed(data, key)


def _listed(data: Data, key: str) -> Iterator[tuple[Loc, Data]]:
    """The mappings in the list `key` of every phase."""
    for loc, phase in _in_list(data, "phases"):
        for index, part in enumerate(_entries(phase.get(key))):
            if isinstance(part, Mapping):
                yield (*loc, key, index), part


def _in_list(data: Data, key: str) -> Iterator[tuple[Loc, Data]]:
    for index, part in enumerate(_entries(data.get(key))):
        if isinstance(part, Mapping):
            yield (key, index), part


def _entries(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []

"""Who was in a run, as codes: kept in the settings of run.json, for the record of exposures."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

__all__ = ["People", "people_in", "people_settings"]


@dataclass(frozen=True, slots=True)
class People:
    """Codes such as S-07 and C-12, never names. crew: position of the sheet to code."""

    subjects: tuple[str, ...] = ()
    crew: Mapping[str, str] = field(default_factory=dict)


def people_settings(people: People) -> dict[str, Any]:
    """What stands in the settings; nothing where nobody was named."""
    subjects = {"subjects": list(people.subjects)} if people.subjects else {}
    return subjects | ({"crew": dict(people.crew)} if people.crew else {})


def people_in(settings: Mapping[str, Any]) -> People:
    """The people in the settings of a run; ValueError for settings that voxlog does not write."""
    subjects, crew = settings.get("subjects", []), settings.get("crew", {})
    is_right = isinstance(subjects, list) and isinstance(crew, dict)
    if not is_right or not all(isinstance(each, str) for each in (*subjects, *crew.values())):
        raise ValueError("subjects or crew are not codes")
    return People(tuple(subjects), crew)

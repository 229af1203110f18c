"""The page: one HTML text that needs nothing beside it.

All text goes through jinja2's autoescape. The page's content security policy allows its own style
and script by their digests, sound in data URIs, and nothing else.
"""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from voxlog.debrief.altitude import Altitude, altitude_of
from voxlog.debrief.certainty import certainty_of
from voxlog.debrief.checks import check_phases
from voxlog.debrief.findings import Finding, rulings_of
from voxlog.debrief.holds import Hold, holds_of
from voxlog.debrief.outcome import outcome_lines
from voxlog.debrief.profile_figure import LEFT, RIGHT, WIDTH, profile
from voxlog.debrief.reading_figure import item_values, reading_plots
from voxlog.debrief.run import Run
from voxlog.debrief.sound import Sound
from voxlog.debrief.waveform_figure import waveforms
from voxlog.debrief.wording import name_of, position_title, probability, utc_of
from voxlog.profile.ambient import is_depth
from voxlog.report.summary import CAUTION
from voxlog.report.words import (
    describe_findings,
    format_clock,
    format_value,
)

if TYPE_CHECKING:
    import jinja2

__all__ = ["render_page"]


def render_page(
    run: Run, findings: Sequence[Finding], sound: Sound, clips: Mapping[int, str], base: str
) -> str:
    """The whole page. clips: data URI by the finding's number. base: where the run folder is, seen
    from the page: "" for beside it, else ending in a slash.
    """
    altitude = altitude_of(run)
    holds = holds_of(run)
    certainty = certainty_of(run.events)
    style, script = _asset("style.css"), _asset("script.js")
    view: dict[str, Any] = {
        "run": run,
        "caution": CAUTION,
        "policy": _policy(style, script),
        "style": style,
        "script": script,
        "lines": outcome_lines(run, findings, altitude, holds),
        "undecided": [one for one in findings if not one.is_decided],
        "decided": [one for one in findings if one.is_decided],
        "added": _added(run),
        "clips": clips,
        "altitude": altitude,
        "level_name": _level_name(altitude),
        "profile": profile(run, altitude, findings, holds),
        "course": _course(run),
        "waveforms": waveforms(run, sound, findings),
        "plots": reading_plots(run),
        "values": item_values(run),
        "phases": check_phases(run),
        "holds": [_held(run, hold) for hold in holds],
        "certainty": certainty,
        "most_rows": max((one.rows for one in certainty.bins), default=1) or 1,
        "least_sure": [(n, run.events[n - 1]) for n in certainty.least_sure],
        "has_channels": any(channel.position for channel in run.channels),
        "base": base,
    }
    return _environment().get_template("page.html").render(view, **_functions(run, base))


@cache
def _environment() -> "jinja2.Environment":
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("voxlog.debrief"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _asset(name: str) -> str:
    return files("voxlog.debrief").joinpath("templates", name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    return (
        "default-src 'none'; "
        f"style-src 'sha256-{_digest(style)}'; script-src 'sha256-{_digest(script)}'; "
        "media-src data:; base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _functions(run: Run, base: str) -> dict[str, Any]:
    """What the templates call; figures of the drawings go along."""
    return {
        "LEFT": LEFT,
        "RIGHT": RIGHT,
        "WIDTH": WIDTH,
        "clock": format_clock,
        "percent": probability,
        "value_text": format_value,
        "words_of": describe_findings,
        "name": lambda event: name_of(run.sheet, event),
        "title": lambda position: position_title(run.sheet, position),
        "utc": lambda seconds: utc_of(run, seconds),
        "address": lambda path: quote(f"{base}{path}"),
        "from_moment": lambda seconds: f"#t={int(seconds)}",
    }


def _level_name(altitude: Altitude | None) -> str:
    """What the levels are; "" without any."""
    if altitude is None:
        return ""
    return "Depth" if is_depth(altitude.unit) else "Altitude"


def _held(run: Run, hold: Hold) -> dict[str, Any]:
    end = run.seconds if hold.end is None else hold.end
    return {"hold": hold, "lasted": format_clock(end - hold.start)}


def _added(run: Run) -> list[dict[str, Any]]:
    """Rows that reviewers added, as they now stand."""
    return [
        {"outcome": one, "event": one.event or one.logged, "rulings": rulings_of(run, one)}
        for one in run.outcomes
        if one.is_added
    ]


def _course(run: Run) -> list[tuple[int, Any]]:
    """The rows for the table beside the profile: what it marks, less the items."""
    kinds = ("callout", "cue", "hold", "resume")
    return [(n, event) for n, event in enumerate(run.events, 1) if event.kind in kinds]

"""A state of a run half way through, as the displays get it."""

from dataclasses import replace
from typing import Any

from voxlog.live.state import (
    ChannelState,
    DueItem,
    LastCue,
    LastValue,
    LevelTime,
    OpenItem,
    Row,
    RunState,
)

USUAL = RunState(
    title="Hypoxia recognition, 25,000 ft",
    run_s=2535.0,
    due=DueItem("14", "oxygen supply pressure", "operator", "Ground checks", 4.2),
    open=(OpenItem("12", "visor", "skipped"), OpenItem("13", "hoses connected", "negative")),
    last_cue=LastCue("masks-off", 125.0),
    last_altitude=LastValue(25000.0, "ft", 45.0),
    at_level=LevelTime(750.0, 1800.0),
    channels=(
        ChannelState("conductor", -23.4),
        ChannelState("attendant", -31.0),
        ChannelState("operator", -60.2, "silent"),
        ChannelState("monitor", -0.1, "clipping"),
    ),
    rows=tuple(Row(n, 2400.0 + 10 * n, f"item {n}: confirmed") for n in range(1, 4)),
    behind_s=0.4,
    findings=3,
)


def usual(**changes: Any) -> RunState:
    """A usual state with some fields changed."""
    return replace(USUAL, **changes)

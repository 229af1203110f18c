"""The level of the run against time, as the page shows it: the estimate, and the rows behind it."""

from dataclasses import dataclass

from voxlog.debrief.run import Run
from voxlog.profile.estimate import Profile, altitude_profile

__all__ = ["Altitude", "altitude_of"]


@dataclass(frozen=True, slots=True)
class Altitude:
    """estimate: from the rows as they stand after the review. calls: the rows (by n) that call a
    level in its unit, with those due and not heard.
    """

    estimate: Profile
    calls: tuple[int, ...]

    @property
    def unit(self) -> str:
        return self.estimate.unit


def altitude_of(run: Run) -> Altitude | None:
    """None for a sheet on which no level is called."""
    units = {one.id: one.unit for phase in run.sheet.phases for one in phase.callouts}
    if not units:
        return None
    estimate = altitude_profile(run.sheet, run.rows_now())
    calls = tuple(
        n
        for n, event in enumerate(run.events, 1)
        if event.kind == "callout" and units.get(event.item) == estimate.unit
    )
    return Altitude(estimate, calls)

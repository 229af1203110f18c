"""The profile of a run as plain JSON values, for programs."""

import math
from typing import Any

from voxlog.profile.consciousness import PublishedTime
from voxlog.profile.estimate import Profile, Stay
from voxlog.profile.physiology import AtLevel, Dropped, OffOxygen, Physiology, Tension
from voxlog.profile.rate import LegRate

__all__ = ["PROFILE_FORMAT", "PROFILE_VERSION", "profile_json"]

PROFILE_FORMAT = "voxlog-profile"
# 1: points, stays, rates, above, levels, oxygen, decompressions, off_oxygen, left_out, cautions.
PROFILE_VERSION = 1


def profile_json(profile: Profile, facts: Physiology) -> dict[str, Any]:
    """Times in seconds of the recording, to the millisecond; levels in `unit`; null for unknown."""
    gas, before = facts.gas, facts.pre_breathe
    return {
        "format": PROFILE_FORMAT,
        "version": PROFILE_VERSION,
        "unit": profile.unit,
        "points": [
            {"t": _ms(one.t), "level": _tenth(one.level), "low": _tenth(one.low)}
            | {"high": _tenth(one.high)}
            for one in profile.points
        ],
        "stays": [_stay(stay) for stay in profile.stays],
        "rates": [_rate(each) for each in facts.rates],
        "above": [
            {"level": each.level, "seconds": _ms(each.seconds)}
            | {"between": [_ms(each.shortest), _ms(each.longest)]}
            for each in facts.above
        ],
        "levels": [_level(each) for each in facts.levels],
        "oxygen": None
        if gas is None
        else {
            "spans": [
                {"gas": span.gas, "since": _ms(span.since), "until": _ms(span.until)}
                for span in gas.spans
            ],
            "in_doubt": [row.item for row in gas.in_doubt],
            "seconds": _ms(gas.oxygen_s),
            "pre_breathe": None
            if before is None
            else {"since": _ms(before.since), "left": _ms(before.left)}
            | {"seconds": _ms(before.seconds), "between": list(map(_ms, before.seconds_between))},
        },
        "decompressions": [_drop(drop) for drop in facts.decompressions],
        "off_oxygen": [_off_oxygen(off) for off in facts.off_oxygen],
        "left_out": [
            {"t": _ms(call.start), "level": call.level, "reason": call.reason}
            for call in profile.left_out
        ],
        "cautions": list(facts.cautions),
    }


def _ms(seconds: float) -> float:
    return round(seconds, 3)


def _tenth(value: float | None) -> float | None:
    return None if value is None or math.isinf(value) else round(value, 1)


def _stay(stay: Stay) -> dict[str, Any]:
    return {
        "level": stay.level,
        "phase": stay.phase,
        "since": _ms(stay.since),
        "until": _ms(stay.until),
        "seconds": _ms(stay.seconds),
        "between": list(map(_ms, stay.seconds_between)),
    }


def _rate(each: LegRate) -> dict[str, Any]:
    limits = each.limits
    return {
        "since": _ms(each.leg.left),
        "until": _ms(each.leg.reached),
        "from": each.leg.level,
        "to": each.leg.to,
        "phase": each.leg.phase,
        "per_minute": _tenth(each.rate),
        "between": [_tenth(each.slowest), _tenth(each.fastest)],
        "min": None if limits is None else limits.min,
        "max": None if limits is None else limits.max,
        "against": each.against,
    }


def _level(each: AtLevel) -> dict[str, Any]:
    return {
        "level": each.level,
        "hpa": round(each.pressure.hpa, 2),
        "mmhg": round(each.pressure.mmhg, 2),
        "psi": round(each.pressure.psi, 3),
        "ata": round(each.pressure.atmospheres, 4),
        "air": _tension(each.air),
        "oxygen": _tension(each.oxygen),
    }


def _tension(tension: Tension) -> dict[str, Any]:
    return {"pio2_mmhg": _tenth(tension.inspired), "pao2_mmhg": _tenth(tension.alveolar)}


def _drop(drop: Dropped) -> dict[str, Any]:
    return {
        "cue": drop.cue,
        "t": _ms(drop.cue_at),
        "from": _tenth(drop.before),
        "to": drop.to,
        "called_after": None if drop.called_after is None else _ms(drop.called_after),
        "ideal": None if drop.ideal_s is None else _ms(drop.ideal_s),
        "published": [_published(row) for row in drop.published],
    }


def _off_oxygen(off: OffOxygen) -> dict[str, Any]:
    return {
        "level": off.level,
        "since": _ms(off.since),
        "until": _ms(off.until),
        "published": [_published(row) for row in off.published],
    }


def _published(row: PublishedTime) -> dict[str, Any]:
    return {
        "altitude_ft": row.altitude_ft,
        "seconds": [row.low_s, row.high_s],
        "after_decompression": row.after_decompression,
        "source": row.source,
    }

"""The recogniser as a confound: how much of a rate could be its own error.

A row's p is the probability that it is as it says. Two views of it:

- the rate among rows of like p. A rate that falls as p rises is partly the recogniser's; one that
  stays is the crew's.
- what follows if p is what it says (`python -m tests.bench reliability` measures that). Of the rows
  counted, the sum of 1 - p is expected to be wrongly counted; of the rows not counted, at most
  their sum of 1 - p is wrongly passed over. So the true rate is expected between
  (count - errors) / n and (count + passed over) / n.

Rows that people agreed about in review count as sure, whatever p they had.
"""

from typing import TYPE_CHECKING, Final

from voxlog.audit.distinct import distinct_counts
from voxlog.audit.interval import LEVEL, design_effects, wilson
from voxlog.audit.rows import MEASURES, items_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["STRATA", "by_confidence", "possible_errors"]

STRATA: Final = (0.0, 0.5, 0.7, 0.9, 0.97, 1.0)
"""Limits of the strata of p; a row on a limit belongs to the stratum above. Our own choice: 0.7 is
where a row is flagged uncertain."""


def by_confidence(rows: "pd.DataFrame", level: float = LEVEL) -> "pd.DataFrame":
    """One row a measure and stratum: measure, p_from, p_to, runs, n, count, rate, low, high."""
    import numpy as np
    import pandas as pd

    items = items_of(rows)
    p = items["p"].to_numpy(dtype=float)
    stratum = np.clip(np.searchsorted(STRATA, p, side="right") - 1, 0, len(STRATA) - 2)
    runs = items["run"].cat.codes.to_numpy()
    parts = []
    for measure in MEASURES:
        can = items[measure.among].to_numpy() if measure.among else np.ones(len(items), bool)
        hit, group = items[measure.name].to_numpy()[can], stratum[can]
        n = np.bincount(group, minlength=len(STRATA) - 1)
        count = np.bincount(group, weights=hit, minlength=len(n)).astype(int)
        effect = design_effects(group, runs[can], hit, len(n))
        low, high = wilson(count / effect, n / effect, level)
        part = {
            "measure": measure.name,
            "p_from": STRATA[:-1],
            "p_to": STRATA[1:],
            "runs": distinct_counts(group, runs[can], len(n)),
            "n": n,
            "count": count,
            "rate": np.divide(count, n, out=np.full(len(n), np.nan), where=n > 0),
            "low": low,
            "high": high,
        }
        parts.append(pd.DataFrame(part))
    return pd.concat(parts, ignore_index=True)


def possible_errors(rows: "pd.DataFrame") -> "pd.DataFrame":
    """One row a measure: runs, n, count, rate; errors (counted rows expected to be wrong),
    passed_over (others expected to be wrong); rate_least and rate_most as above.
    """
    import pandas as pd

    items = items_of(rows)
    found = []
    for measure in MEASURES:
        among = items[items[measure.among]] if measure.among else items
        hit = among[measure.name].to_numpy(dtype=bool)
        doubt = among["doubt"].to_numpy(dtype=float)
        n, count = len(among), int(hit.sum())
        errors, passed_over = float(doubt[hit].sum()), float(doubt[~hit].sum())
        found.append(
            {
                "measure": measure.name,
                "runs": among["run"].nunique(),
                "n": n,
                "count": count,
                "rate": count / n if n else float("nan"),
                "errors": errors,
                "passed_over": passed_over,
                "rate_least": (count - errors) / n if n else float("nan"),
                "rate_most": (count + passed_over) / n if n else float("nan"),
            }
        )
    return pd.DataFrame(found)

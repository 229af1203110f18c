import pytest

from voxlog.sheet.load import read_site
from voxlog.sheet.problem import SheetError

SITE = """\
voxlog-site: 1
rules:
  - id: rest
    source: standing order 4
    for: [attendant, subject]
    at-least: 18000
    unit: ft
    min-interval-h: 24
    max-a-week: 3
  - {id: week, source: standing order 5, max-a-week: 5}
"""


def test_rules_are_read() -> None:
    rest, week = read_site(SITE).rules
    assert (rest.id, rest.source, rest.positions) == (
        "rest",
        "standing order 4",
        ("attendant", "subject"),
    )
    assert (rest.at_least, rest.unit, rest.min_interval_h, rest.max_a_week) == (18_000, "ft", 24, 3)
    assert (week.positions, week.at_least, week.min_interval_h) == ((), None, None)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("    source: standing order 4\n", "", "`source` is missing; add it here"),
        ("    unit: ft\n", "", "`at-least` and `unit` only mean something together; give both"),
        ("max-a-week: 5", "for: [subject]", "a rule needs `min-interval-h`, `max-a-week` or both"),
        ("max-a-week: 5", "max-a-week: 0", "should be greater than or equal to 1"),
        ("max-a-week: 5", "max-a-week: 2.5", "`max-a-week` should be a whole number"),
        ("min-interval-h: 24", "min-interval: 24", "did you mean `min-interval-h`?"),
        ("id: week", "id: rest", "two rules are called `rest`; rename one of them"),
    ],
)
def test_what_is_wrong_is_said(old: str, new: str, message: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_site(SITE.replace(old, new))
    assert message in "\n".join(map(str, caught.value.problems))

import pytest

from tests.review_page.made_up import EVENTS, SHEET
from voxlog.follow.event import Event
from voxlog.review_page.wanted import wanted


@pytest.mark.parametrize(
    ("event", "lines"),
    [
        (
            EVENTS[0],
            [
                ("Challenge", "“intercom check”"),
                ("Answer", "“loud and clear”"),
                ("By", "Inside attendant, or Operator, within 8 s"),
            ],
        ),
        (
            EVENTS[1],
            [
                ("Challenge", "“supply pressure”"),
                ("Value", "1,600 to 2,200 psi"),
                ("By", "Operator, within 8 s"),
            ],
        ),
        (
            EVENTS[2],
            [
                ("Challenge", "“inner door”"),
                ("Answer", "“shut”"),
                ("Denial", "“ajar”"),
                ("By", "Inside attendant, within 8 s"),
                ("Order", "any, among items 4"),
            ],
        ),
        (
            Event(0, 0, "item", "ground", "5"),
            [
                ("Challenge", "“spare mask”"),
                ("Answer", "“in reach”"),
                ("By", "Inside attendant, within 5 s"),
                ("Optional", "may be left out"),
            ],
        ),
        (
            EVENTS[5],
            [
                ("Call", "“passing …”"),
                ("At", "5,000, 10,000 ft"),
                ("By", "Operator"),
                ("Read back by", "Conductor, within 6 s"),
            ],
        ),
        (
            Event(0, 0, "callout", "climb", "time-off"),
            [
                ("Call", "“…”"),
                ("At", "every 20 s after masks-off, until 60 s; 4 s off is late"),
                ("By", "Operator"),
            ],
        ),
        (
            Event(0, 0, "reading", "climb", "saturation"),
            [
                ("Words", "“saturation …”"),
                ("Value", "70 to 100 %"),
                ("By", "Inside attendant"),
            ],
        ),
        (
            Event(0, 0, "cue", "climb", "masks-off"),
            [("Words", "“on my mark, two, one, now”"), ("By", "Conductor")],
        ),
        (Event(0, 0, "hold"), [("Words", "“hold the run”")]),
        (EVENTS[4], []),
        (Event(0, 0, "item", "ground", "77"), []),
    ],
)
def test_what_the_sheet_wanted(event: Event, lines: list[tuple[str, str]]) -> None:
    assert [tuple(line) for line in wanted(SHEET, event)] == lines

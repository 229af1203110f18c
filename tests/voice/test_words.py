import pytest

from voxlog.voice.words import speakable


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # Item numbers digit by digit; altitudes as in FAA AIM 4-2-9 and ICAO Annex 10 Volume II.
        ("open: item 14, visor", "open: item one four, visor"),
        (
            "open: item 2, hoses; item 30, mask; and 3 more",
            "open: item two, hoses; item three zero, mask; and three more",
        ),
        (
            "at 25,000 ft for 4 minutes 10 seconds, 1 minute over the limit",
            "at two five thousand feet for four minutes ten seconds, one minute over the limit",
        ),
        ("at 500 ft", "at five hundred feet"),
        ("at 0 ft", "at zero feet"),
        ("saturation 91 %, 40 s ago", "saturation ninety one percent, forty seconds ago"),
        ("temperature -4.5 °C", "temperature minus four decimal five degrees"),
        ("supply 1850 psi", "supply one eight five zero P S I"),
        ("flow 12 l/min", "flow twelve litres per minute"),
        ("down 3,000 ft/min", "down three thousand feet per minute"),
        ("no item 14", "no item one four"),
        ("Item 7", "item seven"),
        ("9,999,999 steps", "nine nine nine nine nine nine nine steps"),
        ("-5 ft", "minus five feet"),
        ("no open items", "no open items"),
        ("B2, 3rd valve, v1.2.3", "B2, 3rd valve, v1.2.3"),  # names stay what they are
        ("", ""),
    ],
)
def test_texts(text: str, expected: str) -> None:
    assert speakable(text) == expected

import string

import pytest

from voxlog.display.letters import draw, rows_of, width_of, wrap

LETTERS = string.ascii_uppercase + string.digits + " .,:;-/'%+()&!?="


def test_a_letter_is_drawn_in_half_blocks() -> None:
    assert draw("T") == [
        "▀▀█▀▀",
        "  █  ",
        "  █  ",
        "  ▀  ",
    ]


def test_twice_the_size_is_twice_as_wide_and_a_dot_is_a_whole_cell() -> None:
    assert draw("-", 2) == ["      "] * 3 + ["██████"] + ["      "] * 3


def test_figures_are_smaller() -> None:
    assert draw("1:2", 1, "figures") == ["▄█  ▄ ▀▀█", " █  ▄ █▀▀", "▀▀▀   ▀▀▀"]


@pytest.mark.parametrize("scale", [1, 2, 3, 4])
@pytest.mark.parametrize("sign", LETTERS)
def test_every_glyph_has_its_size(sign: str, scale: int) -> None:
    rows = draw(sign, scale)
    assert len(rows) == rows_of(scale)
    assert {len(row) for row in rows} == {width_of(sign, scale)}


def test_no_two_letters_look_alike() -> None:
    drawn = ["\n".join(draw(sign)) for sign in LETTERS]
    assert len(set(drawn)) == len(LETTERS)
    figures = ["\n".join(draw(sign, 1, "figures")) for sign in "0123456789 .:-"]
    assert len(set(figures)) == len(figures)


@pytest.mark.parametrize(
    ("text", "same_as"),
    [("visor", "VISOR"), ("Début", "DEBUT"), ("ß", "SS"), ("a€", "A?"), ("\t", "?")],
)
def test_what_the_font_lacks(text: str, same_as: str) -> None:
    assert draw(text) == draw(same_as)


def test_figures_leave_out_what_they_lack() -> None:
    assert draw("25,000 ft", 1, "figures") == draw("25000 ", 1, "figures")


@pytest.mark.parametrize("font", ["letters", "figures"])
def test_no_text_is_no_width(font: str) -> None:
    assert width_of("", 1, font) == 0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("width", "expected"),
    [
        (200, ["oxygen supply pressure"]),
        (80, ["oxygen supply", "pressure"]),
        (50, ["oxygen", "supply", "pressure"]),
        (47, ["oxygen", "supply", "pressure"]),
        (46, None),
    ],
)
def test_wrapping(width: int, expected: list[str] | None) -> None:
    assert wrap("oxygen supply pressure", width) == expected

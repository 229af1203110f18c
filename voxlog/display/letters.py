"""Large type for terminals: letters of 5 by 7 dots, figures of 3 by 5, drawn in half blocks.

A terminal's cell is about twice as high as wide, so half a cell is a square dot. At scale 1 a dot
is one column wide and half a row high; at scale 2 two columns and one row, and so on. Widths vary
with the letter. Small letters are drawn as capitals, accents are left off. Pure.
"""

import unicodedata
from functools import cache
from typing import Final, Literal

__all__ = ["Font", "draw", "rows_of", "width_of", "wrap"]

Font = Literal["letters", "figures"]
"""letters: 5 by 7 dots, for text. figures: 3 by 5, digits and what stands between them only."""

_LETTERS: Final = """
.###. ####. .###. ####. ##### ##### .###. #...# ### ..### #...# #.... #...# #...#
#...# #...# #...# #...# #.... #.... #...# #...# .#. ...#. #..#. #.... ##.## ##..#
#...# #...# #.... #...# #.... #.... #.... #...# .#. ...#. #.#.. #.... #.#.# #.#.#
##### ####. #.... #...# ####. ####. #.### ##### .#. ...#. ##... #.... #.#.# #..##
#...# #...# #.... #...# #.... #.... #...# #...# .#. ...#. #.#.. #.... #...# #...#
#...# #...# #...# #...# #.... #.... #...# #...# .#. #..#. #..#. #.... #...# #...#
#...# ####. .###. ####. ##### #.... .###. #...# ### .##.. #...# ##### #...# #...#

.###. ####. .###. ####. .#### ##### #...# #...# #...# #...# #...# #####
#...# #...# #...# #...# #.... ..#.. #...# #...# #...# #...# #...# ....#
#...# #...# #...# #...# #.... ..#.. #...# #...# #...# .#.#. .#.#. ...#.
#...# ####. #...# ####. .###. ..#.. #...# #...# #.#.# ..#.. ..#.. ..#..
#...# #.... #.#.# #.#.. ....# ..#.. #...# #...# #.#.# .#.#. ..#.. .#...
#...# #.... #..#. #..#. ....# ..#.. #...# .#.#. ##.## #...# ..#.. #....
.###. #.... .##.# #...# ####. ..#.. .###. ..#.. #...# #...# ..#.. #####

.###. .#. .###. ##### ...#. ##### ..##. ##### .###. .###.
#...# ##. #...# ...#. ..##. #.... .#... ....# #...# #...#
#..## .#. ....# ..#.. .#.#. ####. #.... ...#. #...# #...#
#.#.# .#. ...#. ...#. #..#. ....# ####. ..#.. .###. .####
##..# .#. ..#.. ....# ##### ....# #...# .#... #...# ....#
#...# .#. .#... #...# ...#. #...# #...# .#... #...# ...#.
.###. ### ##### .###. ...#. .###. .###. .#... .###. .##..

... .. .. .. .. ... ..... # ##..# ..... ..# #.. .##.. # .###. .....
... .. .. .. .. ... ....# # ##..# ..#.. .#. .#. #..#. # #...# .....
... .. .. ## ## ... ...#. . ...#. ..#.. #.. ..# #.#.. # ....# #####
... .. .. ## ## ### ..#.. . ..#.. ##### #.. ..# .#... # ...#. .....
... .. .. .. .. ... .#... . .#... ..#.. #.. ..# #.#.# # ..#.. #####
... ## ## ## ## ... #.... . #..## ..#.. .#. .#. #..#. . ..... .....
... ## .# ## .# ... ..... . #..## ..... ..# #.. .##.# # ..#.. .....
"""
_LETTERS_ORDER: Final = ("ABCDEFGHIJKLMN", "OPQRSTUVWXYZ", "0123456789", " .,:;-/'%+()&!?=")

_FIGURES: Final = """
### .#. ### ### #.# ### ### ### ### ### . . . ...
#.# ##. ..# ..# #.# #.. #.. ..# #.# #.# . . # ...
#.# .#. ### .## ### ### ### ..# ### ### . . . ###
#.# .#. #.. ..# ..# ..# #.# ..# #.# ..# . . # ...
### ### ### ### ..# ### ### ..# ### ### . # . ...
"""
_FIGURES_ORDER: Final = ("0123456789 .:-",)

_HALVES: Final = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}

Glyph = tuple[str, ...]


def draw(text: str, scale: int = 1, font: Font = "letters") -> list[str]:
    """One line of large type as rows of cells, all `width_of(text, scale, font)` wide.

    scale: 1 and up. Signs that the font lacks are drawn as a question mark (letters) or left out
    (figures).
    """
    rows = _dots(text, font)
    halves = [
        "".join(dot * scale for dot in row) for row in rows for _ in range(scale)
    ]  # "#" and "." by square dots
    if len(halves) % 2:
        halves.append("." * len(halves[0]))
    return [
        "".join(_HALVES[above == "#", below == "#"] for above, below in zip(*pair, strict=True))
        for pair in zip(halves[::2], halves[1::2], strict=True)
    ]


def width_of(text: str, scale: int = 1, font: Font = "letters") -> int:
    """Columns that a line of large type takes."""
    return len(_dots(text, font)[0]) * scale


def rows_of(scale: int = 1, font: Font = "letters") -> int:
    """Terminal rows that a line of large type takes, the gap under it included where it fits."""
    return (_height(font) * scale + 1) // 2


def wrap(text: str, width: int, scale: int = 1) -> list[str] | None:
    """The text in lines that fit `width` columns; None where a single word does not."""
    lines: list[str] = []
    for word in text.split():
        if width_of(word, scale) > width:
            return None
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, scale) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _height(font: Font) -> int:
    return 7 if font == "letters" else 5


@cache
def _dots(text: str, font: Font) -> tuple[str, ...]:
    """Rows of "#" and ".", one column of space between glyphs."""
    glyphs = _glyphs(font)
    drawn = [glyphs[sign] for sign in _plain(text, font)]
    return tuple(".".join(glyph[row] for glyph in drawn) for row in range(_height(font)))


def _plain(text: str, font: Font) -> str:
    letters = unicodedata.normalize("NFD", text).upper()
    known = _glyphs(font)
    bare = [sign for sign in letters if not unicodedata.combining(sign)]
    if font == "figures":
        return "".join(sign for sign in bare if sign in known)
    return "".join(sign if sign in known else "?" for sign in bare)


@cache
def _glyphs(font: Font) -> dict[str, Glyph]:
    table, order = (_LETTERS, _LETTERS_ORDER) if font == "letters" else (_FIGURES, _FIGURES_ORDER)
    glyphs: dict[str, Glyph] = {}
    for block, signs in zip(table.strip().split("\n\n"), order, strict=True):
        rows = [row.split() for row in block.splitlines()]
        for number, sign in enumerate(signs):
            glyphs[sign] = tuple(row[number] for row in rows)
    return glyphs

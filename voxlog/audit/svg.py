"""Drawings of matplotlib as parts of an HTML page: text as text, colours by the page's theme.

The page's content security policy allows no style attributes, so each becomes a class, and each
colour of PALETTE becomes a variable of the page's style. The same figure gives the same text.
"""

import io
import re
from html import escape
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["PALETTE", "Drawings"]

PALETTE: Final = {
    "ink": "#010203",
    "soft": "#040506",
    "grid": "#07080a",
    "curve": "#0a0b0d",
    "grave": "#0d0e10",
    "open": "#101113",
    "within": "#131416",
}
"""Colours to draw with, by the name of the page's variable; stand-ins that nothing else uses."""

_STYLE: Final = re.compile(r' style="([^"]*)"')
_ID: Final = re.compile(r'(id="|url\(#|href="#)([^")]+)')


class Drawings:
    """Turns figures into SVG elements and gathers the rules of their classes."""

    def __init__(self) -> None:
        self._classes: dict[str, str] = {}
        self._count = 0

    def draw(self, figure: "Figure", title: str) -> str:
        """One <svg>. title: for who cannot see it; the numbers stand in a table beside it."""
        import matplotlib as mpl

        buffer = io.StringIO()
        plain = {"Date": None, "Creator": None, "Format": None, "Type": None}
        with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "voxlog"}):
            figure.savefig(buffer, format="svg", metadata=plain, transparent=True)
        self._count += 1
        text = buffer.getvalue()
        text = text[text.index("<svg") :]
        text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
        text = re.sub(r"<style.*?</style>", "", text, flags=re.DOTALL)
        text = text.replace("xlink:href", "href")
        text = _ID.sub(rf"\g<1>d{self._count}-\g<2>", text)
        text = _STYLE.sub(lambda found: f' class="{self._class(found[1])}"', text)
        width, height = re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text)[0]
        return (
            f'<svg class="plot" role="img" viewBox="0 0 {width} {height}">'
            f"<title>{escape(title)}</title>" + text[text.index(">") + 1 :]
        )

    @property
    def rules(self) -> str:
        """The CSS of all classes so far."""
        return "\n".join(
            f".plot .{name} {{ {self._themed(style)} }}" for style, name in self._classes.items()
        )

    def _class(self, style: str) -> str:
        return self._classes.setdefault(style, f"v{len(self._classes)}")

    @staticmethod
    def _themed(style: str) -> str:
        """Without the font, which is the page's."""
        style = re.sub(r"font(-family)?: [^;]*(;|$)", _size_alone, style)
        for name, colour in PALETTE.items():
            style = style.replace(colour, f"var(--{name})")
        return style


def _size_alone(font: re.Match[str]) -> str:
    size = re.search(r"[\d.]+px", font[0])
    return f"font-size: {size[0]};" if size else ""

"""Drawings as parts of a page."""

import re
from xml.etree import ElementTree as ET

from matplotlib.figure import Figure

from voxlog.audit.svg import PALETTE, Drawings


def figure(label: str = "rate, %") -> Figure:
    made = Figure(figsize=(3, 2))
    axes = made.add_subplot()
    axes.plot([1, 2, 3], [1, 4, 9], "o-", color=PALETTE["curve"])
    axes.set_xlabel(label, color=PALETTE["ink"])
    axes.fill_between([1, 2], [1, 1], color=PALETTE["within"], alpha=0.5)
    return made


def test_it_is_one_element_without_style_or_address() -> None:
    text = Drawings().draw(figure(), "A & B <i>")
    root = ET.fromstring(text)
    assert root.tag.endswith("svg")
    assert not re.search(r"\sstyle=|<style|<\?xml|<!DOCTYPE|<metadata|https?://(?!www\.w3)", text)
    assert root[0].text == "A & B <i>"
    assert root.get("role") == "img"


def test_texts_are_texts_and_harmless() -> None:
    text = Drawings().draw(figure("<script>alert(1)</script>"), "")
    assert "<script>" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_colours_are_the_page_s_and_fonts_too() -> None:
    drawings = Drawings()
    drawings.draw(figure(), "")
    assert "var(--curve)" in drawings.rules and "var(--within)" in drawings.rules
    assert not any(colour in drawings.rules for colour in PALETTE.values())
    assert "font-family" not in drawings.rules and "font: " not in drawings.rules
    assert re.search(r"font-size: 10px", drawings.rules)


def test_two_drawings_share_no_name_and_every_reference_leads_somewhere() -> None:
    drawings = Drawings()
    first, second = drawings.draw(figure(), ""), drawings.draw(figure(), "")
    names = [set(re.findall(r' id="([^"]+)"', text)) for text in (first, second)]
    assert names[0] and not names[0] & names[1]
    for text, known in zip((first, second), names, strict=True):
        assert set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', text)) <= {
            pair for name in known for pair in ((name, ""), ("", name))
        }


def test_every_class_has_a_rule() -> None:
    drawings = Drawings()
    text = drawings.draw(figure(), "")
    used = set(re.findall(r'class="(v\d+)"', text))
    assert used and used == set(re.findall(r"\.plot \.(v\d+) ", drawings.rules))


def test_the_same_figure_gives_the_same_text() -> None:
    assert Drawings().draw(figure(), "one") == Drawings().draw(figure(), "one")

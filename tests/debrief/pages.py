"""What a debrief's HTML says, by Python's own parser."""

import re
from html.parser import HTMLParser
from typing import NamedTuple

VOID = {"meta", "br", "img", "input", "link", "hr", "source", "col"}


class Tag(NamedTuple):
    name: str
    attributes: dict[str, str | None]


class Page(HTMLParser):
    """Its tags in order, its text without style and script, and what was not closed."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[Tag] = []
        self.text = ""
        self.inside: dict[str, str] = {"style": "", "script": ""}
        self.open: list[str] = []
        self.faults: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(Tag(tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(Tag(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] in self.inside:
            self.inside[self.open[-1]] += data
        else:
            self.text += data

    def named(self, *names: str) -> list[Tag]:
        return [tag for tag in self.tags if tag.name in names]

    @property
    def words(self) -> str:
        return re.sub(r"\s+", " ", self.text)

"""A real Chromium on the review page, driven as a person would: by keys."""

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.review_page.server import Server

CHROMIUM = Path("/usr/bin/chromium")
MISSING = "needs `apt-get install --no-install-recommends chromium`, and playwright"
PATIENCE_S = 20
ARGUMENTS = ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"]


@contextmanager
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


class Tab:
    """A page of one reviewer, and what went wrong or abroad while it was open."""

    def __init__(self, context: Any, server: Server, address: str | None = None) -> None:
        self.server = server
        self.page = context.new_page()
        self.faults: list[str] = []
        self.asked: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", self._listen)
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(address or server.address)
        self.page.wait_for_selector(".option")

    def _listen(self, message: Any) -> None:
        if message.type in ("error", "warning"):
            self.faults.append(f"{message.text} {message.location.get('url', '')}".rstrip())

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)

    def text(self, selector: str) -> str:
        found: str = self.page.inner_text(selector)
        return found

    def wait(self, expression: str) -> None:
        """Until it is true. Asked from here: the page's own policy lets nobody evaluate text."""
        begun = time.monotonic()
        while not self.page.evaluate(expression):
            assert time.monotonic() < begun + PATIENCE_S, (expression, self.faults)
            time.sleep(0.03)

    def wait_said(self, text: str) -> None:
        """Until the live region says it."""
        self.wait(f"document.getElementById('said').textContent.includes({json.dumps(text)})")

    @property
    def sound_at(self) -> float:
        at: float = self.page.evaluate("document.getElementById('audio').currentTime")
        return at

    def hears(self, from_: float = 0.0) -> bool:
        """Whether the sound moves on by itself beyond `from_`."""
        audio = "document.getElementById('audio')"
        self.wait(f"!{audio}.paused && {audio}.currentTime > {from_ + 0.3}")
        return True

    @property
    def is_at_home(self) -> bool:
        """Whether nothing but its own server was ever asked."""
        return all(url.startswith(f"{self.server.origin}/") for url in self.asked)

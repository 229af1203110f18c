"""The debrief in a real Chromium: does it open, sound, print, and do without sight or script."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Self

import pytest

from tests.debrief.made import decided, make_folder
from tests.debrief.test_page import hostile, html
from tests.review_page.browser import CHROMIUM, MISSING, chromium
from voxlog.debrief.write import write_debrief
from voxlog.review.review_log import append_decision

try:
    import playwright.sync_api  # noqa: F401
except ImportError:
    HAS_BROWSER = False
else:
    HAS_BROWSER = CHROMIUM.exists()

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not HAS_BROWSER, reason=MISSING)]

LARGE = {"width": 1180, "height": 900}
PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Of a run with a review begun, so that every part of the page is there."""
    folder = make_folder(tmp_path_factory.mktemp("runs") / "s-07")
    append_decision(folder, decided(2, "stands"))
    append_decision(folder, decided(3, "deferred", "ask the attendant"))
    return write_debrief(folder)


class Opened:
    """A page that is open, what its console said, and what it asked for beside itself."""

    def __init__(self, browser: Any, path: Path, **options: Any) -> None:
        self.context = browser.new_context(**{"viewport": LARGE, **options})
        self.page = self.context.new_page()
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(path.as_uri())

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.context.close()

    def wait(self, expression: str) -> None:
        """Until it is true. Asked from here: the page's own policy lets nobody evaluate text."""
        for _ in range(400):
            if self.page.evaluate(expression):
                return
            self.page.wait_for_timeout(50)
        pytest.fail(f"never true: {expression}; {self.said}")

    def elsewhere(self) -> list[str]:
        return [url for url in self.asked[1:] if not url.startswith("data:")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LARGE, PHONE], ids=["large", "phone"])
def test_axe_finds_nothing(browser: Any, page_file: Path, scheme: str, viewport: dict) -> None:
    """axe-core 4, rules of WCAG 2.2 A and AA and its best practices; contrast in both schemes."""
    from axe_playwright_python.sync_playwright import Axe

    with Opened(browser, page_file, color_scheme=scheme, viewport=viewport) as opened:
        for summary in opened.page.locator("summary").all():
            summary.click()
        found = Axe().run(opened.page).response["violations"]
        assert [
            (one["id"], one["impact"], [node["html"][:80] for node in one["nodes"]][:3])
            for one in found
        ] == []


@pytest.mark.parametrize("viewport", [LARGE, PHONE], ids=["large", "phone"])
def test_it_opens_without_a_word_on_the_console_and_asks_for_nothing(
    browser: Any, page_file: Path, viewport: dict
) -> None:
    with Opened(browser, page_file, viewport=viewport, offline=True) as opened:
        opened.page.wait_for_load_state()
        assert (opened.said, opened.elsewhere()) == ([], [])
        too_wide = "document.documentElement.scrollWidth - window.innerWidth"
        assert opened.page.evaluate(too_wide) <= 0


def test_a_clip_plays_and_only_one_at_a_time(browser: Any, page_file: Path) -> None:
    with Opened(browser, page_file) as opened:
        times = "[...document.querySelectorAll('audio')].map(one => one.currentTime)"
        paused = "[...document.querySelectorAll('audio')].map(one => one.paused)"
        opened.page.evaluate("document.querySelectorAll('audio')[0].play()")
        opened.wait(f"({times})[0] > 0.3")
        opened.page.evaluate("document.querySelectorAll('audio')[1].play()")
        opened.wait(f"({times})[1] > 0.3")
        assert opened.page.evaluate(paused)[:2] == [True, False]


def test_pointing_at_a_sign_says_what_it_is(browser: Any, page_file: Path) -> None:
    with Opened(browser, page_file) as opened:
        tip = opened.page.locator("#tip")
        assert tip.is_hidden()
        opened.page.locator("svg.plot g.tip:has(circle)").first.hover()
        assert re.match(r"\d\d:\d\d  ", tip.text_content() or "")
        opened.page.mouse.move(2, 2)
        assert tip.is_hidden()


def test_the_findings_are_reached_from_the_figure_by_keyboard(
    browser: Any, page_file: Path
) -> None:
    with Opened(browser, page_file) as opened:
        link = opened.page.locator("svg.plot a").first
        link.focus()
        assert opened.page.locator("#tip").is_visible()
        opened.page.keyboard.press("Enter")
        assert re.search(r"#finding-\d+$", opened.page.url)


def test_everything_is_there_without_script(browser: Any, page_file: Path) -> None:
    with Opened(browser, page_file, java_script_enabled=False) as opened:
        assert opened.page.locator("svg.plot g > title").count() > 10
        opened.page.locator("summary").first.click()
        assert opened.page.locator("details[open] table").first.is_visible()
        assert opened.page.locator("audio[controls]").count() == 5


def test_html_in_texts_does_nothing(browser: Any, tmp_path: Path) -> None:
    path = tmp_path / "hostile.html"
    path.write_text(html(hostile()), encoding="utf-8")
    with Opened(browser, path) as opened:
        opened.page.on("dialog", lambda dialog: pytest.fail(dialog.message))
        opened.page.wait_for_load_state()
        assert (opened.said, opened.elsewhere()) == ([], [])
        assert opened.page.locator("img").count() == 0


def test_the_policy_stops_what_the_page_did_not_bring(browser: Any, page_file: Path) -> None:
    """Should a text ever get through as HTML, it still does and fetches nothing."""
    with Opened(browser, page_file) as opened:
        opened.page.evaluate(
            """() => {
                const script = document.createElement('script');
                script.textContent = 'window.broken = true';
                document.body.append(script);
                const image = new Image();
                image.src = 'http://127.0.0.1:9/a.png';
                document.body.append(image);
                document.body.insertAdjacentHTML('beforeend',
                    '<p id="b" style="position:fixed" onclick="window.broken = true">b</p>');
                document.getElementById('b').click();
            }"""
        )
        assert opened.page.evaluate("window.broken") is None
        assert opened.page.evaluate("getComputedStyle(document.getElementById('b')).position") == (
            "static"
        )
        assert "Content Security Policy" in " ".join(opened.said)


def test_it_prints_on_a4_without_what_paper_cannot_do(browser: Any, page_file: Path) -> None:
    with Opened(browser, page_file, color_scheme="dark") as opened:
        opened.page.emulate_media(media="print")
        assert not opened.page.locator("audio").first.is_visible()
        assert opened.page.locator(".paper").first.is_visible()
        ground = "getComputedStyle(document.body).backgroundColor"
        assert opened.page.evaluate(ground) == "rgb(255, 255, 255)"
        data = opened.page.pdf(prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert boxes
    for width, height in boxes:
        assert float(width) == pytest.approx(210 / 25.4 * 72, abs=1)
        assert float(height) == pytest.approx(297 / 25.4 * 72, abs=1)

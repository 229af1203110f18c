"""The review page in a real Chromium: by keyboard alone, with sound, in two tabs, by two people."""

import contextlib
import http.server
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.review_page.browser import CHROMIUM, MISSING, PATIENCE_S, Tab, chromium
from tests.review_page.made_up import EVENTS, SHEET_TEXT, make_run
from tests.review_page.server import Server
from voxlog.cli.app import main
from voxlog.follow.event import Event
from voxlog.log.finding import findings_of
from voxlog.log.verify import read_events, verify
from voxlog.review.outcome import is_reviewed, outcomes
from voxlog.review.review_log import read_review

try:
    import playwright.sync_api  # noqa: F401
except ImportError:
    HAS_BROWSER = False
else:
    HAS_BROWSER = CHROMIUM.exists()

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not HAS_BROWSER, reason=MISSING)]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture
def open_tab(browser: Any) -> Iterator[Callable[..., Tab]]:
    """Opens a server's page in a browser profile of its own, with what its context is to be."""
    with contextlib.ExitStack() as stack:

        def opened(server: Server, **options: Any) -> Tab:
            context = browser.new_context(**options)
            stack.callback(context.close)
            return Tab(context, server)

        yield opened


def decided(tab: Tab, count: int) -> None:
    tab.wait(f"document.getElementById('done').value === {count}")


def kept(run: Path, count: int) -> None:
    """Until so many decisions are on disk: what the page said last may be of an earlier one."""
    begun = time.monotonic()
    while len(read_review(run).decisions) < count:
        assert time.monotonic() < begun + PATIENCE_S
        time.sleep(0.03)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "run"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("VOXLOG_CACHE", str(Path(__file__).parents[2] / ".cache/voxlog"))
        assert main(["demo", "--out", str(folder)]) == 0
    return folder


def test_the_demonstration_is_reviewed_by_keyboard_alone(
    demo: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    tab = open_tab(serve(demo))
    total = sum(bool(findings_of(event)) for event in read_events(demo))
    assert total >= 5
    tab.press("a")
    tab.press("Tab", "Tab", "Tab", "Tab")
    tab.press("Control+a")
    tab.type("0:20")
    tab.press(*["Tab"] * 6)
    tab.type("item 1 was said once more")
    tab.press("Enter")
    tab.wait_said("Added: 1 intercom check")
    tab.press("f", "f", "f", "l", "Home", "n")
    for count in range(total):
        tab.wait("document.querySelector('#wave svg')")
        tab.press("p")
        assert tab.hears()
        tab.press("p")
        match count:
            case 0:
                tab.press("c")
                tab.type("misheard: a cough")
            case 1:
                tab.press("x")
                tab.type(
                    "n" if tab.page.evaluate("document.activeElement.value") == "confirmed" else "c"
                )
                tab.press(*["Tab"] * 9)
                tab.type("said otherwise")
            case _:
                tab.press("s")
        tab.press("Enter")
        decided(tab, count + 2)  # the added one counts
    tab.wait_said("Everything here is decided")
    decisions = read_review(demo).decisions
    assert [one.verdict for one in decisions] == [
        "added", "cleared", "corrected", *["stands"] * (total - 2),
    ]  # fmt: skip
    assert {one.reviewer for one in decisions} == {"C-12"}
    assert is_reviewed(outcomes(read_events(demo), decisions))
    assert verify(demo).is_whole
    assert (tab.faults, tab.is_at_home) == ([], True)


def test_the_whole_recording_is_reached_by_the_scrubber(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    tab = open_tab(serve(run))
    tab.page.focus("#scrub")
    tab.press("End", *["PageDown"] * 3)
    moment = float(tab.page.input_value("#scrub"))
    assert 0 < moment < 12
    tab.press("w")
    assert tab.hears(moment)
    assert tab.page.evaluate("document.getElementById('audio').src").endswith("audio/0.wav")
    tab.press(",")
    tab.press("w")
    assert tab.page.evaluate("document.getElementById('audio').paused")
    before = tab.sound_at
    tab.press(".")
    tab.wait(f"document.getElementById('audio').currentTime > {min(before + 1, 11.9)}")
    assert (tab.faults, tab.is_at_home) == ([], True)


def test_a_decision_outlasts_a_killed_server_and_the_page_says_what_is_lost(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    server = serve(run)
    tab = open_tab(server)
    tab.press("s", "Enter")
    decided(tab, 1)
    server.process.kill()
    server.process.wait(30)
    tab.press("c")
    tab.type("not saved yet")
    tab.press("Enter")
    tab.wait("document.getElementById('decide-error').textContent.includes('does not answer')")
    assert "Start voxlog review again" in tab.text("#notices")
    assert tab.page.input_value("#reason") == "not saved yet"
    again = open_tab(serve(run))
    decided(again, 1)
    assert "stands" in again.text("#row-4")
    again.press("k", "k")
    assert "C-12" in again.text("#decisions")
    assert again.faults == []


def test_two_tabs_at_once(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    server = serve(run)
    one = open_tab(server)
    other = Tab(one.page.context, server, server.origin + server.place)
    one.press("s", "Enter")
    decided(one, 1)
    decided(other, 1)
    other.press("n", "s", "Enter")
    decided(other, 2)
    decided(one, 2)
    # the same row in both: both are kept, the later one counts
    for tab, key, count in ((one, "s", 3), (other, "d", 4)):
        tab.press("l", "Home", key)
        tab.type("of this tab")
        tab.press("Enter")
        kept(run, count)
    assert [one.verdict for one in read_review(run).decisions] == ["stands"] * 3 + ["deferred"]
    decided(one, 1)
    assert (one.faults, other.faults) == ([], [])


def test_two_reviewers_disagree_and_both_stay(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    one, other = open_tab(serve(run)), open_tab(serve(run, "C-13"))
    one.press("s", "Enter")
    decided(one, 1)
    other.wait_said("C-12 decided on 4 outer door: stands")
    other.press("c")
    other.type("it was the radio")
    other.press("Enter")
    decided(other, 1)
    for tab in (one, other):
        tab.wait("document.getElementById('row-4').textContent.includes('disputed')")
        tab.press("l", "Home")
        tab.wait("document.getElementById('decisions').textContent.includes('Disputed')")
        told = tab.text("#decisions")
        assert "C-12" in told
        assert "C-13" in told
        assert "it was the radio" in told
        assert tab.faults == []


def many(count: int) -> list[Event]:
    return [
        replace(
            EVENTS[n % len(EVENTS)], start=n / 10, end=n / 10 + 0.05, status="negative", kind="item"
        )
        for n in range(count)
    ]


def press_through(tab: Tab, presses: int) -> tuple[float, int]:
    """What the next row costs: the median of milliseconds from the key to the frame that shows it,
    and the nodes that were made for all of them."""
    tab.page.evaluate(
        """() => {
            window.spans = [];
            window.made = 0;
            addEventListener("keydown", (event) => requestAnimationFrame(() => {
              const channel = new MessageChannel();
              channel.port1.onmessage = () =>
                window.spans.push(performance.now() - event.timeStamp);
              channel.port2.postMessage(null);
            }), { capture: true });
            new MutationObserver((changes) => {
              for (const { addedNodes } of changes) {
                for (const node of addedNodes) {
                  window.made += 1 + (node.querySelectorAll?.("*").length ?? 0);
                }
              }
            }).observe(document.body, { childList: true, subtree: true });
        }"""
    )
    for _ in range(presses):
        tab.press("j")
    tab.wait(f"window.spans.length >= {presses}")
    spans = sorted(tab.page.evaluate("window.spans"))
    return float(spans[len(spans) // 2]), int(tab.page.evaluate("window.made"))


def test_two_thousand_findings_cost_no_more_than_twenty(
    tmp_path: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    made = {}
    for count in (20, 2000):
        tab = open_tab(serve(make_run(tmp_path / str(count), many(count))))
        assert f"0 of {count} decided" in tab.text("#done-text")
        span, made[count] = press_through(tab, 15)
        print(f"{count} findings: {span:.1f} ms from a key until it is painted")
        tab.press("l", "End")
        last = "document.querySelector('.option[aria-selected=true]').dataset.place"
        tab.wait(f"{last} === '{count - 1}'")
        assert tab.page.locator(".option").count() <= 40
        assert tab.page.get_attribute(".option", "aria-setsize") == str(count)
        if count == 2000:  # the last of them lie after the recording's twelve seconds
            tab.wait("document.getElementById('wave').textContent.includes('recording ends')")
            tab.press("p")
            tab.wait_said("The recording ends before this moment")
        assert tab.faults == []
    assert made[2000] < 1.5 * made[20]


EVIL = '<img src=x onerror="window.harm=1"><script>window.harm=1</script>"\'{{7*7}}</q>'


def test_markup_in_sheet_transcript_and_reasons_is_shown_and_does_nothing(
    tmp_path: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    quoted = "'" + EVIL.replace("'", "''") + "'"
    sheet = SHEET_TEXT
    for name in ("A small run", "Ground checks", "Inside attendant", "Operator"):
        sheet = sheet.replace(f": {name}", f": {quoted}")
    events = [replace(event, heard=EVIL, note=EVIL, item=event.item or EVIL) for event in EVENTS]
    alternative = {"text": EVIL, "act": EVIL, "step": EVIL, "evidence_millinats": 5000}
    utterance = {
        "channel": 1,
        "start_ms": 3000,
        "end_ms": 9000,
        "text": EVIL,
        "heard": [alternative],
    }
    server = serve(make_run(tmp_path / "evil", events, [utterance], sheet))
    tab = open_tab(server)
    tab.press("c")
    tab.type(EVIL)
    tab.press("Enter")
    decided(tab, 1)
    tab.press("f", "f", "a", "Escape", "l", "Home")
    for _ in events:
        tab.press("j")
        tab.wait("document.querySelector('#wave svg')")
    tab.page.evaluate("dispatchEvent(new Event('beforeprint'))")
    for place in ("h1", "#heard .words", "#around"):
        assert EVIL in tab.page.text_content(place), place
    assert EVIL in tab.page.text_content("#paper")
    assert tab.page.evaluate(
        "[window.harm, document.querySelectorAll('img, main script').length]"
    ) == [
        None,
        0,
    ]
    assert (tab.faults, tab.is_at_home) == ([], True)


def test_nothing_from_outside_can_be_loaded(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    """Even by a script that got in: the browser refuses, by the policy that came with the page."""
    with outside() as (origin, asked):
        tab = open_tab(serve(run))
        blocked = tab.page.evaluate(
            """async (origin) => {
                const seen = [];
                addEventListener("securitypolicyviolation", (event) =>
                  seen.push(event.effectiveDirective));
                for (const tag of ["img", "audio", "iframe", "link"]) {
                  const node = document.createElement(tag);
                  if (tag === "link") node.rel = "stylesheet";
                  node[tag === "link" ? "href" : "src"] = `${origin}/x`;
                  document.body.append(node);
                }
                await fetch(`${origin}/x`, { mode: "no-cors" }).catch(() => {});
                try { document.body.innerHTML = "<b>x</b>"; } catch { seen.push("trusted"); }
                await new Promise((done) => setTimeout(done, 300));
                return seen;
            }""",
            origin,
        )
        assert {"img-src", "media-src", "frame-src", "style-src-elem", "connect-src"} <= set(
            blocked
        )
        assert "trusted" in blocked
        assert asked == []


def test_a_page_of_another_origin_in_the_same_browser_can_do_nothing(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    """On 127.0.0.1 too, where cookies go to every port: the browser is as signed in as can be."""
    with outside() as (origin, _):
        server = serve(run)
        tab = open_tab(server)
        target = f"{server.origin}{server.place}decisions"
        for place in (origin, origin.replace("127.0.0.1", "localhost")):
            stranger = tab.page.context.new_page()
            stranger.goto(f"{place}/page")
            outcome = stranger.evaluate(
                """async (target) => {
                    const body = JSON.stringify({ verdict: "stands", row: 4 });
                    const tried = [];
                    for (const options of [
                      { mode: "no-cors" }, { mode: "cors" },
                      { mode: "cors", headers: { "Content-Type": "application/json" } },
                    ]) {
                      const sent = { method: "POST", credentials: "include", body, ...options };
                      await fetch(target, sent)
                        .then((r) => tried.push(`${r.type} ${r.status}`))
                        .catch(() => tried.push("refused"));
                    }
                    await fetch(target, { credentials: "include" })
                      .then((r) => r.text()).then((text) => tried.push(text))
                      .catch(() => tried.push("refused"));
                    return tried;
                }""",
                target,
            )
            assert outcome == ["refused"] * 4
            stranger.evaluate(
                """(target) => {
                    const form = document.createElement("form");
                    form.method = "post"; form.action = target; form.enctype = "text/plain";
                    const field = document.createElement("input");
                    field.name = '{"verdict":"stands","row":4,"x":"'; field.value = '"}';
                    form.append(field); document.body.append(form); form.submit();
                }""",
                target,
            )
            stranger.wait_for_load_state()
            assert "Not asked by this page" in stranger.inner_text("body")
            # and a link from there does not lead in
            stranger.goto(f"{place}/page")
            stranger.evaluate("(to) => { location.href = to }", server.origin + server.place)
            stranger.wait_for_url(f"{server.origin}/**")
            assert "Review by" not in stranger.inner_text("body")
        assert read_review(run).decisions == ()
        tab.press("s", "Enter")
        decided(tab, 1)


@contextlib.contextmanager
def outside() -> Iterator[tuple[str, list[str]]]:
    """Another program's server on this machine: its address, and what it was asked for."""
    asked: list[str] = []

    class Answers(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.path != "/page":
                asked.append(f"{self.path} {self.headers.get('Cookie')}")
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>x</title><body>")

        def log_message(self, *_: object) -> None:
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}", asked
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def test_single_keys_are_dead_in_fields_and_can_be_turned_off(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    """WCAG 2.2, success criterion 2.1.4."""
    tab = open_tab(serve(run))
    chosen = "document.querySelector('[name=verdict]:checked')?.value ?? null"
    tab.press("s")
    tab.type("cxdapjkn")
    assert tab.page.input_value("#reason") == "cxdapjkn"
    assert tab.page.evaluate(chosen) == "stands"
    tab.press("Escape", "c")
    assert tab.page.evaluate(chosen) == "cleared"
    tab.press("Escape", "?")
    tab.page.focus("#keys-on")
    tab.press("Space", "Escape")
    for key in ("s", "x", "d", "p", "a", "j", "?", "w"):
        tab.press(key)
    assert tab.page.evaluate(chosen) == "cleared"
    assert tab.page.evaluate("document.querySelector('dialog[open]')") is None
    assert tab.page.evaluate("document.getElementById('audio').paused")
    # with them off everything is still there: the list by arrow keys, the form by Tab and Space
    tab.page.focus("#queue")
    tab.press("ArrowDown", "Tab")
    assert tab.page.evaluate("document.activeElement.id") != "queue"
    tab.page.focus("[name=verdict][value=stands]")
    tab.press("Space", "Enter")
    decided(tab, 1)


def test_after_a_decision_the_focus_and_the_words_are_at_the_next_row(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    tab = open_tab(serve(run))
    assert tab.text("#finding-title").startswith("4 outer door: answered negative")
    tab.press("c", "Enter")
    assert tab.page.evaluate("document.activeElement.id") == "reason"
    assert "needs a reason" in tab.text("#decide-error")
    tab.press("Escape", "d", "Enter")
    tab.wait_said("Saved: 4 outer door, deferred. Next, 2 of 4.")
    assert tab.page.evaluate("document.activeElement.id") == "finding-title"
    assert tab.text("#finding-title").startswith("2 supply pressure: outside limits")


LOOKS = {
    "light": {"viewport": {"width": 1280, "height": 860}, "color_scheme": "light"},
    "dark": {"viewport": {"width": 1280, "height": 860}, "color_scheme": "dark"},
    "phone": {"viewport": {"width": 320, "height": 640}, "color_scheme": "light"},
}


@pytest.mark.parametrize("look", LOOKS)
def test_axe_finds_nothing_serious(
    run: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab], look: str
) -> None:
    """axe-core's rules, in every state of the page."""
    from axe_playwright_python.sync_playwright import Axe

    tab = open_tab(serve(run), **LOOKS[look])
    found: list[str] = []

    def check(state: str) -> None:
        for one in Axe().run(tab.page).response["violations"]:
            where = [node["target"] for node in one["nodes"]]
            found.append(f"{state}: {one['impact']} {one['id']} {where}")

    tab.wait("document.querySelector('#wave svg') && document.querySelector('#overview svg')")
    check("at first")
    tab.press("s", "Enter")
    decided(tab, 1)
    tab.press("x")
    check("correcting")
    tab.press("Escape", "l", "Home")
    check("decided")
    tab.press("?")
    check("keys")
    tab.press("Escape", "a", "Tab", "Enter", "Escape")
    tab.press("a")
    tab.page.focus("#add-reason")
    tab.press("Enter")
    check("adding")
    assert found == []
    # WCAG 2.2, 1.4.10: nothing to scroll sideways, 320 pixels being 400 % of a usual window
    assert tab.page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_what_is_printed_has_every_finding_and_decision(
    tmp_path: Path, serve: Callable[..., Server], open_tab: Callable[..., Tab]
) -> None:
    tab = open_tab(serve(make_run(tmp_path / "run", many(300))))
    tab.press("c")
    tab.type("it was a cough")
    tab.press("Enter")
    decided(tab, 1)
    tab.page.evaluate("dispatchEvent(new Event('beforeprint'))")
    tab.page.emulate_media(media="print")
    assert tab.page.locator("#paper tbody tr").count() == 300
    assert tab.page.is_visible("#paper")
    assert not tab.page.is_visible("#finding")
    assert "it was a cough" in tab.text("#paper")

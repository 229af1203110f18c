"""The page of an audit: whole in itself, honest about what it counts, readable by everybody."""

import base64
import hashlib
import html
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from tests.audit.made_audit import made_audit
from tests.audit.table import raw_rows
from tests.review_page.browser import CHROMIUM, MISSING
from voxlog.audit.audit import Audit, audit
from voxlog.audit.page import render_page
from voxlog.audit.question import Found, Question

try:
    from axe_playwright_python.sync_playwright import Axe
    from playwright.sync_api import sync_playwright
except ImportError:
    HAS_BROWSER = False
else:
    HAS_BROWSER = CHROMIUM.exists()


@pytest.fixture(scope="module")
def page() -> str:
    return render_page(made_audit())


def small(*rows: dict[str, Any], **question: Any) -> Audit:
    asked = Question(**question)
    table = raw_rows(*rows)
    return audit(Found(table, table["run"].nunique(), 0), asked)


def text_of(page: str) -> str:
    body = page.split("<body>")[1]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_nothing_is_loaded_from_anywhere(page: str) -> None:
    assert not re.search(r"<(script|link|img|iframe|object|embed|base)\b", page)
    assert not re.search(r"@import|url\((?!#)", page)
    links = re.findall(r'(?:href|src|action)="([^"]*)"', page)
    assert links and all(link.startswith("#") for link in links)


def test_the_policy_allows_the_page_s_own_style_and_nothing_else(page: str) -> None:
    [style] = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    [policy] = re.findall(r'Content-Security-Policy" content="([^"]*)"', page)
    assert html.unescape(policy) == (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    )
    assert not re.search(r'\s(style|on\w+)="', page)


def test_every_link_leads_somewhere_and_no_id_stands_twice(page: str) -> None:
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(ids)


def test_tables_say_what_their_cells_are_of(page: str) -> None:
    tables = re.findall(r"<table>.*?</table>", page, re.DOTALL)
    assert len(tables) > 8
    for table in tables:
        assert re.search(r"<caption>[^<]+</caption>", table)
        head, body = table.split("</thead>")
        width = head.count('<th scope="col"')
        assert not re.search(r"<th scope=.col.[^>]*></th>", head)
        for row in re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL):
            assert row.count('<th scope="row">') == 1
            assert row.count("<td") == width - 1


def test_figures_have_a_caption_and_stand_beside_a_table(page: str) -> None:
    figures = re.findall(r"<figure>.*?</figure>", page, re.DOTALL)
    assert len(figures) > 12
    for figure in figures:
        assert re.search(r"<figcaption>[^<]+</figcaption>\s*<svg", figure)
    for section in re.findall(r"<section.*?</section>", page, re.DOTALL):
        assert "<svg" not in section or "<table>" in section


def test_what_was_planted_is_said_at_the_top(page: str) -> None:
    top = text_of(page.split('id="rates"', maxsplit=1)[0])
    for planted in ("heron, item 12", "items 40 and 41 go wrong together", "item 17 falls by"):
        assert planted in top


def test_only_reviewed_runs_and_how_many_were_left_out(page: str) -> None:
    text = text_of(page)
    scope = made_audit().scope
    assert f"Left out, not reviewed {scope.not_reviewed}" in text
    assert "These are not facts" not in text
    assert "Only runs whose every finding has an agreed decision" in text


@pytest.mark.slow
def test_unreviewed_runs_are_announced_loudly() -> None:
    result = made_audit(Question(unreviewed=True), runs=150)
    page = render_page(result)
    count = result.scope.not_reviewed
    warning = page.index(f"These are not facts. {count} of the {result.scope.runs:,} runs")
    assert warning < page.index('id="outstanding"')
    assert "Only runs whose" not in page


def test_a_floor_of_the_site_is_called_its_own() -> None:
    assert "choice and has no published source" in render_page(small({}))
    own = render_page(small({}, floor_s=0.5))
    assert "under 0.5 s" in own and "choice and has no" not in own


def test_no_count_under_the_least_is_on_the_page() -> None:
    """Of nine skipped rows three are of one item: neither that number nor its rate is there, nor
    the six that would give it away."""
    rows = [
        {"item": item, "status": "skipped" if n < count else "confirmed"}
        for item, count, size in (("1", 3, 40), ("2", 6, 40), ("3", 0, 60))
        for n in range(size)
    ]
    text = text_of(render_page(small(*rows)))
    assert "1 to 4 of 40" in text and "not shown of 40" in text
    for telling in (" 3 of 40", " 6 of 40", "7.5 %", "15.0 %"):
        assert telling not in text
    assert " 3 of 40" in text_of(render_page(small(*rows, min_cell=1)))


def test_no_name_and_no_run_is_on_the_page() -> None:
    rows = [
        {"run": f"smith-{n}", "crew": "Smith" if n % 2 else "C-07", "delay_ms": 900.0}
        for n in range(40)
    ]
    page = render_page(small(*rows, by="crew"))
    assert "C-07" in page and "(not a code)" in page
    assert "smith" not in page.lower()


def test_what_comes_from_files_is_text() -> None:
    rows = [
        {"sheet": "<b>s", "item": "<script>alert(1)</script>", "unit": "<i>", "value": float(n)}
        | {"kind": ("item", "reading")[n % 2], "start": f"2026-{n % 12 + 1:02}-02T08:00Z"}
        | {"limit_high": 50.0, "status": "skipped" if n % 3 else "confirmed"}
        for n in range(120)
    ]
    page = render_page(small(*rows, min_cell=1))
    assert not re.search(r"<script|<b>|<i>", page)
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize(
    "rows",
    [
        [{}],
        [{"start": None}],
        [{"status": "skipped"}, {"kind": "reading", "value": 5.0, "unit": "%"}],
        [{"kind": "reading"}],
    ],
)
def test_a_page_of_next_to_nothing(rows: list[dict[str, Any]]) -> None:
    text = text_of(render_page(small(*rows)))
    assert "Too few runs with a known start for a control chart" in text
    assert "nan" not in text.lower().split()


def test_one_run_is_not_shown_by_itself() -> None:
    text = text_of(render_page(small({"status": "skipped", "delay_ms": 800.0})))
    assert "There are fewer than 5 runs, so that no figure is shown" in text
    assert "100.0 %" not in text and "0.8" not in text.replace("0.8125", "")


def test_the_same_audit_gives_the_same_page(page: str) -> None:
    assert render_page(made_audit()) == page


@pytest.mark.slow
@pytest.mark.skipif(not HAS_BROWSER, reason=MISSING)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1200])
def test_in_a_browser(page: str, tmp_path: Path, scheme: Any, width: int) -> None:
    """No fault, nothing asked of the network, no sideways scrolling, nothing that axe-core finds
    (WCAG 2.2 A and AA), and styles that the policy lets through."""
    path = tmp_path / "page.html"
    path.write_text(page, encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        # axe-core is put into the page, which the page's policy rightly forbids.
        context = browser.new_context(
            viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=False
        )
        tab = context.new_page()
        faults: list[str] = []
        asked: list[str] = []
        tab.on("console", lambda message: faults.append(message.text))
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.on("request", lambda request: asked.append(request.url))
        tab.goto(path.as_uri())
        assert faults == [] and asked == [path.as_uri()]
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        ink = tab.evaluate(
            "getComputedStyle(document.querySelector('svg.plot text')).fill"
            " === getComputedStyle(document.body).color"
        )
        assert ink
        tab.close()
        loose = browser.new_context(
            viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=True
        ).new_page()
        loose.goto(path.as_uri())
        loose.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        found = Axe().run(loose, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
        assert found.violations_count == 0, found.generate_report()
        browser.close()


@pytest.mark.slow
def test_groups_by_month_stand_in_order_of_time() -> None:
    result = made_audit(Question(by="month"), runs=150)
    months = pd.Series(result.rates["month"].astype(str).unique())
    assert list(months) == sorted(months)
    assert "in order of time" in render_page(result)

import base64
import hashlib
import json
import re
from dataclasses import replace
from itertools import pairwise

import pytest

from tests.debrief.made import EVENTS, SHEET, START, a_run, decided
from tests.debrief.pages import Page
from tests.debrief.test_altitude import WITHOUT_LEVELS
from voxlog.debrief.findings import findings_of_run
from voxlog.debrief.page import render_page
from voxlog.debrief.run import Run
from voxlog.debrief.sound import Sound
from voxlog.follow.event import Event
from voxlog.review.signature import Signature, Statement

EVIL = "</style></title><script>alert(1)</script><img src=x onerror=alert(1)>&\"'"
CLIP = "data:audio/ogg;base64,T2dnUw=="


def html(run: Run, *, base: str = "") -> str:
    findings = findings_of_run(run)
    clips = {one.number: CLIP for one in findings}
    return render_page(run, findings, Sound({}, ()), clips, base)


def page(run: Run, *, base: str = "") -> Page:
    return Page(html(run, base=base))


RUNS = {
    "usual": a_run(),
    "nothing heard": a_run([], []),
    "no channels": a_run(positions=(), start=None),
    "one channel": a_run(positions=("",)),
    "no levels": a_run(EVENTS[:3], sheet=WITHOUT_LEVELS),
    "reviewed": a_run(
        decisions=[
            decided(2, "stands"),
            decided(2, "cleared", "a cough", reviewer="C-03"),
            decided(3, "deferred", "ask"),
            decided(5, "cleared", "misheard"),
            decided(None, "added", "missed", event=Event(70, 71, "hold", heard="hold the run")),
        ]
    ),
}


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS)
def test_a_whole_page_of_every_kind_of_run(run: Run) -> None:
    found = page(run)
    assert (found.faults, found.open) == ([], [])
    assert "{{" not in found.text
    ids = [tag.attributes["id"] for tag in found.tags if "id" in tag.attributes]
    assert len(ids) == len(set(ids))
    links = [tag.attributes["href"] or "" for tag in found.named("a")]
    assert {link[1:] for link in links if link.startswith("#")} <= set(ids)


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS)
def test_headings_go_down_by_one_and_tables_say_what_they_head(run: Run) -> None:
    found = page(run)
    levels = [int(tag.name[1]) for tag in found.named("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert all(tag.attributes.get("scope") for tag in found.named("th"))
    for figure in found.named("svg"):
        assert "aria-labelledby" in figure.attributes or figure.attributes["aria-hidden"] == "true"


def test_the_policy_lets_nothing_in_but_the_page_itself() -> None:
    found = page(a_run())
    (policy,) = [
        tag.attributes["content"] or ""
        for tag in found.named("meta")
        if tag.attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy.startswith("default-src 'none'; ")
    for name, text in found.inside.items():
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    assert not [tag for tag in found.tags if "style" in tag.attributes]
    assert not [key for tag in found.tags for key in tag.attributes if key.startswith("on")]
    assert not found.named("link", "iframe", "img", "object", "base", "form")


def test_nothing_is_named_that_is_elsewhere() -> None:
    for tag in page(a_run()).tags:
        for key in ("src", "href", "poster", "action", "xlink:href"):
            value = tag.attributes.get(key) or ""
            assert not re.match(r"[a-z]+:|//", value) or value.startswith("data:audio/ogg;base64,")


def hostile() -> Run:
    """HTML and script wherever a text can come from."""
    events = [
        replace(event, heard=EVIL, note=EVIL, unit=event.unit and "<b>psi", phase=event.phase)
        for event in EVENTS
    ]
    run = a_run(
        [*events, Event(95, 96, "note", EVIL, EVIL, EVIL, heard=EVIL), *_strange()],
        warnings=[EVIL],
        sheet=SHEET.replace("title: A short run", f"title: {json.dumps(EVIL)}")
        .replace("source: invented for tests", f"source: {json.dumps(EVIL)}")
        .replace("Inside attendant", "'<b>Inside</b>'")
        .replace("title: Climb", f"title: {json.dumps(EVIL)}"),
        decisions=[decided(2, "cleared", EVIL)],
    )
    channels = tuple(replace(one, path=f"{EVIL}.flac", position=EVIL) for one in run.channels)
    said = tuple(replace(one, text=EVIL) for one in run.said)
    return replace(run, name=EVIL, channels=channels, said=said, remark=EVIL, model=EVIL)


def _strange() -> list[Event]:
    """Rows of parts that the sheet does not have, with a name that is HTML."""
    return [
        Event(97, 98, "item", EVIL, EVIL, EVIL, "negative", heard=EVIL),
        Event(97, 98, "cue", EVIL, EVIL, EVIL, heard=EVIL),
        Event(97, 98, "reading", EVIL, EVIL, EVIL, None, ("off-limit",), EVIL, 5, EVIL, 0.5),
        Event(97, 98, "hold", EVIL, EVIL, EVIL, heard=EVIL),
    ]


def test_html_in_any_text_stays_text() -> None:
    plain, found = page(a_run()), page(hostile())
    assert len(found.named("script")) == len(plain.named("script")) == 1
    assert len(found.named("style")) == 1
    assert not found.named("img", "b")
    assert found.inside == plain.inside
    assert EVIL in found.text
    assert (found.faults, found.open) == ([], [])


def test_a_path_is_an_address_and_never_a_program() -> None:
    run = a_run()
    channels = (replace(run.channels[0], path="javascript:alert(1)"),)
    links = [tag.attributes["href"] for tag in page(replace(run, channels=channels)).named("a")]
    assert "javascript%3Aalert%281%29" in links
    assert not [link for link in links if (link or "").startswith("javascript:")]


def test_links_lead_to_the_recording_at_the_moment_of_the_finding() -> None:
    links = [tag.attributes["href"] for tag in page(a_run(), base="../runs/s 07/").named("a")]
    assert "../runs/s%2007/audio/channel-1.flac#t=5" in links
    assert "../runs/s%2007/events.csv" in links


def test_each_finding_can_be_heard() -> None:
    audio = page(a_run()).named("audio")
    assert [tag.attributes["src"] for tag in audio] == [CLIP] * 5
    assert all(tag.attributes["aria-label"] for tag in audio)


def test_the_cautions_are_those_of_the_readme() -> None:
    words = page(a_run()).words
    assert "A record aid, not a medical device and not an alarm" in words
    assert "not heard is not “not done”" in words
    assert "decides nothing about going on or stopping" in words


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("usual", ["09:30:00 UTC", "not reviewed", "1,600 to 2,200 psi", "0.4 of 8 s"]),
        ("usual", ["“The left strap has slipped”", "at item 4", "Least sure", ">99 %"]),
        ("reviewed", ["a cough", "The reviewers disagree", "Put off", "Rows added in review"]),
        ("nothing heard", ["No findings", "No hold was heard", "not in the log"]),
        ("no channels", ["not known; times count", "The run folder names no recording"]),
        ("one channel", ["not a recognised voice"]),
    ],
)
def test_what_a_reader_looks_for(name: str, said: list[str]) -> None:
    words = page(RUNS[name]).words.replace("\u00a0", " ")
    for text in said:
        assert text in words, text


def test_a_review_that_is_done_and_not_signed_says_so() -> None:
    run = a_run(decisions=[decided(row, "stands") for row in (2, 3, 5, 12, 14)])
    assert "every finding decided, not signed" in page(run).words


@pytest.mark.parametrize("is_signed", [True, False])
def test_signatures_are_named_and_not_vouched_for(is_signed: bool) -> None:
    statement = Statement(
        signer="C-12",
        at=START,
        meaning="approval",
        section=1,
        key="0a" * 32,
        log="0b" * 32,
        review_n=3,
        review_digest="0c" * 32,
        sheet="0d" * 32,
        audio=(),
        to_decide=5,
        undecided=0,
    )
    signatures = (Signature(statement, "0e" * 64),)
    words = page(replace(a_run(), signatures=signatures, is_signed=is_signed)).words
    assert "signed by C-12, 2026-11-25 09:30 UTC (approval)" in words
    assert "voxlog verify checks it" in words
    assert ("reopened since" in words) != is_signed


def test_the_same_run_gives_the_same_bytes() -> None:
    assert html(a_run()) == html(a_run())

"""What the page gets, from the real server."""

import io
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.review_page.made_up import EVENTS, make_run, tone
from tests.review_page.server import Server, serving
from voxlog.review.review_log import read_review

RATE = 16_000


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    audio = (tone(12.0), tone(12.0, 880.0))
    server = serving(make_run(tmp_path_factory.mktemp("app") / "run", audio=audio), "C-12")
    server.enter()
    yield server
    server.end()


def test_the_run_is_told_whole(server: Server) -> None:
    told = server.get("run").json
    assert (told["title"], told["reviewer"], told["seconds"]) == ("A small run", "C-12", 12.0)
    assert told["queue"] == [4, 2, 3, 6]
    assert [row["n"] for row in told["rows"]] == list(range(1, len(EVENTS) + 1))
    assert told["channels"] == ["operator", ""]
    assert told["warnings"] == []


def test_the_page_and_its_files_are_there(server: Server) -> None:
    page = server.get("")
    assert page.headers["content-type"].startswith("text/html")
    named = set(page.body.decode().replace('"', " ").split())
    for name in ("assets/main.js", "assets/page.css", "assets/icon.svg"):
        assert name in named
        assert server.get(name).status == 200


def read_wav(data: bytes) -> np.ndarray:
    samples, rate = soundfile.read(io.BytesIO(data), dtype="int16")
    assert rate == RATE
    return samples


def test_a_clip_is_the_recording_between_two_moments(server: Server) -> None:
    both = np.stack([tone(12.0), tone(12.0, 880.0)])
    kept = np.rint(both * 32768).astype(np.int32)
    for channel, expected in ((1, kept[0]), (2, kept[1]), (0, kept.sum(axis=0))):
        found = read_wav(server.get(f"clip/{channel}/1500-3250.wav").body)
        assert np.array_equal(found, expected[24_000:52_000])


def test_the_whole_recording_comes_in_ranges(server: Server) -> None:
    whole = server.get("audio/1.wav")
    assert (whole.status, whole.headers["accept-ranges"]) == (200, "bytes")
    assert len(read_wav(whole.body)) == 12 * RATE
    size = len(whole.body)
    for first, end in ((0, 44), (0, 2), (20, 60), (43, 45), (45, 46), (100_001, 300_000)):
        part = server.get("audio/1.wav", range=f"bytes={first}-{end - 1}")
        assert part.status == 206
        assert part.headers["content-range"] == f"bytes {first}-{end - 1}/{size}"
        assert part.body == whole.body[first:end]
    tail = server.get("audio/1.wav", range="bytes=-5")
    assert tail.body == whole.body[-5:]
    beyond = server.get("audio/1.wav", range=f"bytes={size}-")
    assert (beyond.status, beyond.headers["content-range"]) == (416, f"bytes */{size}")


def test_waves_are_of_every_channel(server: Server) -> None:
    waves = server.get("wave/0/1000-4000").json
    assert [len(wave) for wave in waves] == [600, 600]
    assert max(waves[0]) == pytest.approx(300, abs=2)
    overview = server.get("overview").json
    assert len(overview) == 1200
    assert max(overview) == pytest.approx(300, abs=2)


def test_decisions_are_told_from_where_the_page_knows_them(
    run: Path, serve: Callable[..., Server]
) -> None:
    server = serve(run)
    server.enter()
    assert server.get("decisions").json == {"count": 0, "decisions": [], "rows": [], "states": {}}
    told = server.decide(verdict="cleared", row=4, reason="a cough").json
    assert (told["count"], told["states"]) == (1, {"4": "agreed"})
    event = {"kind": "item", "item": "3", "start": 5.5, "status": "confirmed"}
    added = server.decide(verdict="added", event=event, reason="missed", after=1).json
    assert [(one["n"], one["row"]) for one in added["decisions"]] == [(2, 7)]
    assert [(row["n"], row["name"]) for row in added["rows"]] == [(7, "3 inner door")]
    assert server.get("decisions?after=2").json["decisions"] == []
    assert len(server.get("decisions?after=nonsense").json["decisions"]) == 2


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 422),
        (b"{", 422),
        (b"[" * 60_000, 422),
        (b"\xff\xfe", 422),
        (b'{"verdict": "stands", "row": 400}', 422),
        (b'{"verdict": "stands", "row": 1e400}', 422),
        (b'{"verdict": "stands", "row": 4, "after": -1, "reason": "\\ud800"}', 422),
    ],
)
def test_what_is_no_decision_is_refused_in_words(server: Server, body: bytes, status: int) -> None:
    asked = server.ask(f"{server.place}decisions", "POST", body)
    assert asked.status == status
    assert isinstance(asked.json["error"], str)
    assert server.get("decisions").json["count"] == 0


def test_a_form_of_another_page_is_no_decision(server: Server) -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", None):
        asked = server.ask(
            f"{server.place}decisions",
            "POST",
            b'{"verdict": "stands", "row": 4}',
            content_type=kind,
        )
        assert asked.status == 415


def test_many_decide_at_once_and_all_is_kept(run: Path, serve: Callable[..., Server]) -> None:
    servers = [serve(run), serve(run, "C-13")]
    for server in servers:
        server.enter()
    with ThreadPoolExecutor(8) as pool:
        jobs = [
            pool.submit(servers[n % 2].decide, verdict="stands", row=1 + n % 6, reason=str(n))
            for n in range(40)
        ]
        assert {job.result().status for job in jobs} == {200}
    assert sorted(int(one.reason) for one in read_review(run).decisions) == list(range(40))

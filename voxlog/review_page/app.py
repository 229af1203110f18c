"""The review page's answers, one function a place; access.py has decided before that it may ask."""

import json
from collections.abc import Callable, Iterator
from http import HTTPStatus
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from voxlog.errors import InputError
from voxlog.log.table import format_utc
from voxlog.review_page import rows
from voxlog.review_page.ledger import Ledger, State
from voxlog.review_page.run import ReviewRun
from voxlog.review_page.sound import RunSound
from voxlog.review_page.wav import HEADER_BYTES, RATE, SAMPLE_BYTES, header, peaks, span_of

__all__ = ["ReviewPage", "application"]

ASSETS = {"page.css": "text/css", "icon.svg": "image/svg+xml"} | dict.fromkeys(
    (
        *("main.js", "dom.js", "list.js", "finding.js", "player.js", "wave.js", "decide.js"),
        *("add.js", "keys.js", "store.js", "paper.js"),
    ),
    "text/javascript",
)
OVERVIEW_PEAKS = 1200
CLIP_PEAKS = 600
LONGEST_CLIP_S = 180
_PIECE_SAMPLES = 1 << 16


class ReviewPage:
    """What the page shows and does for one reviewer. sound: None where there is no recording."""

    def __init__(
        self, run: ReviewRun, reviewer: str, ledger: Ledger, sound: RunSound | None
    ) -> None:
        self._run = run
        self._reviewer = reviewer
        self._ledger = ledger
        self._sound = sound
        self._page = _page(run.sheet.title, reviewer)
        self._assets = {name: _asset(name) for name in ASSETS}

    def page(self, _: Request) -> Response:
        return Response(self._page, media_type="text/html")

    def asset(self, request: Request) -> Response:
        name = request.path_params["name"]
        if name not in self._assets:
            return _nothing()
        return Response(self._assets[name], media_type=ASSETS[name])

    def run(self, _: Request) -> Response:
        run = self._run
        return JSONResponse(
            {
                "title": run.sheet.title,
                "sheet": run.sheet.id,
                "folder": run.folder.name,
                "start": None if run.start is None else format_utc(run.start, 0),
                "seconds": run.seconds,
                "reviewer": self._reviewer,
                "warnings": [*run.warnings, *(self._sound.faults if self._sound else ())],
                "positions": dict(run.sheet.positions),
                "parts": rows.parts(run.sheet),
                "rows": [
                    rows.describe_row(run.sheet, number, event, run.seconds)
                    for number, event in enumerate(run.events, 1)
                ],
                "queue": rows.queue(run.sheet, run.events),
                "lines": rows.describe_lines(run.lines),
                "channels": [channel.position for channel in run.channels],
                "has_sound": self._sound is not None,
            }
        )

    def decisions(self, request: Request) -> Response:
        """Those after the first `after`; what a page asks every other second."""
        after = request.query_params.get("after", "0")
        return self._news(self._ledger.state, int(after) if after.isdecimal() else 0)

    async def decide(self, request: Request) -> Response:
        from starlette.concurrency import run_in_threadpool

        if request.headers.get("content-type") != "application/json":
            return _wrong("not JSON; load the page again", HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
        try:
            sent = json.loads(await request.body())
        except (ValueError, RecursionError):
            return _wrong("not JSON; load the page again")
        after = sent.get("after") if isinstance(sent, dict) else 0
        first = after if type(after) is int and after >= 0 else 0
        return await run_in_threadpool(self._news, lambda: self._ledger.decide(sent), first)

    def overview(self, _: Request) -> Response:
        if self._sound is None:
            return _nothing()
        return JSONResponse(self._sound.overview(OVERVIEW_PEAKS))

    def clip(self, request: Request) -> Response:
        """Milliseconds first to end of one channel, or of all mixed (0), as a WAV file."""
        cut = self._cut(request)
        if cut is None:
            return _nothing()
        channel, first, end = cut
        return self._wav(request, channel, first, end)

    def wave(self, request: Request) -> Response:
        """The peaks of every channel of the same stretch."""
        cut = self._cut(request)
        if cut is None or self._sound is None:
            return _nothing()
        _, first, end = cut
        every = range(1, self._sound.channels + 1)
        return JSONResponse(
            [peaks(self._sound.cut(channel, first, end), CLIP_PEAKS) for channel in every]
        )

    def whole(self, request: Request) -> Response:
        """The whole recording; a browser asks for parts of it with Range."""
        channel = request.path_params["channel"]
        if self._sound is None or channel > self._sound.channels:
            return _nothing()
        return self._wav(request, channel, 0, self._sound.samples)

    def _news(self, state: Callable[[], State], after: int) -> Response:
        try:
            found = state()
        except InputError as error:
            return _wrong(str(error))
        return JSONResponse(_news(self._run, found, after))

    def _cut(self, request: Request) -> tuple[int, int, int] | None:
        channel = request.path_params["channel"]
        first, end = (request.path_params[name] * RATE // 1000 for name in ("first", "end"))
        if self._sound is None or channel > self._sound.channels:
            return None
        end = min(end, self._sound.samples)
        return (channel, first, end) if 0 < end - first <= LONGEST_CLIP_S * RATE else None

    def _wav(self, request: Request, channel: int, first: int, end: int) -> Response:
        size = HEADER_BYTES + (end - first) * SAMPLE_BYTES
        asked = request.headers.get("range")
        span = span_of(asked, size)
        if span is None:
            return Response(
                status_code=HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE,
                headers={"content-range": f"bytes */{size}"},
            )
        is_part = asked is not None
        headers = {"accept-ranges": "bytes", "content-length": str(span.end - span.first)}
        if is_part:
            headers["content-range"] = f"bytes {span.first}-{span.end - 1}/{size}"
        return StreamingResponse(
            self._bytes(channel, first, end, span.first, span.end),
            HTTPStatus.PARTIAL_CONTENT if is_part else HTTPStatus.OK,
            headers,
            "audio/wav",
        )

    def _bytes(
        self, channel: int, first: int, end: int, byte: int, last_byte: int
    ) -> Iterator[bytes]:
        """Bytes byte to last_byte of the WAV file of samples first to end."""
        assert self._sound is not None
        if byte < HEADER_BYTES:
            yield header(end - first)[byte:last_byte]
            byte = HEADER_BYTES
        while byte < last_byte:
            sample, skipped = divmod(byte - HEADER_BYTES, SAMPLE_BYTES)
            upto = min(first + sample + _PIECE_SAMPLES, end)
            data = self._sound.cut(channel, first + sample, upto).tobytes()
            piece = data[skipped : skipped + last_byte - byte]
            yield piece
            byte += len(piece)


def application(page: ReviewPage, place: str) -> Starlette:
    """Every place under the path that cannot be guessed."""
    stretch = "{channel:int}/{first:int}-{end:int}"
    return Starlette(
        routes=[
            Route(f"{place}/", page.page, methods=["GET"]),
            Route(f"{place}/assets/{{name}}", page.asset, methods=["GET"]),
            Route(f"{place}/run", page.run, methods=["GET"]),
            Route(f"{place}/decisions", page.decisions, methods=["GET"]),
            Route(f"{place}/decisions", page.decide, methods=["POST"]),
            Route(f"{place}/overview", page.overview, methods=["GET"]),
            Route(f"{place}/clip/{stretch}.wav", page.clip, methods=["GET"]),
            Route(f"{place}/wave/{stretch}", page.wave, methods=["GET"]),
            Route(f"{place}/audio/{{channel:int}}.wav", page.whole, methods=["GET"]),
        ]
    )


def _news(run: ReviewRun, state: State, after: int) -> dict[str, Any]:
    """Decisions after the first `after`, rows that were added by them, and all states."""
    added = iter(row for row in state.outcomes if row.is_added)
    told = []
    for number, decision in enumerate(state.decisions, 1):
        row = next(added) if decision.verdict == "added" else None
        if number > after:
            told.append(
                rows.describe_decision(decision, number, run.sheet, row.row if row else None)
            )
    touched = {one["row"] for one in told}
    return {
        "count": len(state.decisions),
        "decisions": told,
        "rows": [
            rows.describe_row(run.sheet, row.row, row.logged, run.seconds)
            for row in state.outcomes[len(run.events) :]
            if row.row in touched
        ],
        "states": {row.row: row.state for row in state.outcomes if row.row in touched},
    }


def _page(title: str, reviewer: str) -> str:
    from jinja2 import Environment

    template = Environment(autoescape=True).from_string(_asset("page.html").decode())
    return template.render(title=title, reviewer=reviewer)


def _asset(name: str) -> bytes:
    return (files("voxlog.review_page") / "assets" / name).read_bytes()


def _nothing() -> Response:
    return PlainTextResponse("Nothing here.\n", HTTPStatus.NOT_FOUND)


def _wrong(text: str, status: HTTPStatus = HTTPStatus.UNPROCESSABLE_ENTITY) -> Response:
    return JSONResponse({"error": text}, status)

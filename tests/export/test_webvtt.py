"""WebVTT read back by webvtt-py and by FFmpeg's own reader."""

import html
import io
import re
from pathlib import Path

import av
import pytest
import webvtt

from tests.export.rows import hard_run, long_run, random_run, run_of
from voxlog.export.run import ExportRun, Row
from voxlog.export.text import label
from voxlog.export.webvtt import to_webvtt
from voxlog.follow.event import Event


def cues(run: ExportRun) -> list[tuple[int, int, int, str]]:
    """Number, start, end and text by webvtt-py."""
    captions = webvtt.from_buffer(io.StringIO(to_webvtt(run).data.decode()))
    return [
        (int(one.identifier), _ms(one.start), _ms(one.end), html.unescape(one.raw_text))
        for one in captions
    ]


def _ms(stamp: str) -> int:
    hours, minutes, seconds, ms = map(int, re.split("[:.]", stamp))
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + ms


def ffmpeg_cues(run: ExportRun, folder: Path) -> list[tuple[int, int, bytes]]:
    path = folder / "run.vtt"
    path.write_bytes(to_webvtt(run).data)
    with av.open(str(path)) as file:
        (stream,) = file.streams
        unit_ms = stream.time_base * 1000
        return [
            (int(packet.pts * unit_ms), int(packet.duration * unit_ms), bytes(packet))
            for packet in file.demux(stream)
            if packet.size
        ]


def test_every_row_comes_back() -> None:
    run = hard_run()
    assert cues(run) == [
        (row.n, row.start_ms, max(row.end_ms, row.start_ms + 1000), label(row)) for row in run.rows
    ]


def test_ffmpeg_reads_the_same(tmp_path: Path) -> None:
    run = hard_run()
    found = ffmpeg_cues(run, tmp_path)
    assert [(start, start + length) for start, length, _ in found] == [
        (row.start_ms, max(row.end_ms, row.start_ms + 1000)) for row in run.rows
    ]
    assert [html.unescape(text.decode()) for *_, text in found] == [label(row) for row in run.rows]


def test_any_text_comes_back(tmp_path: Path) -> None:
    run = random_run()
    labels = [label(row) for row in run.rows]
    assert [text for *_, text in cues(run)] == labels
    found = ffmpeg_cues(run, tmp_path)
    assert [html.unescape(text.decode()) for *_, text in found] == labels


@pytest.mark.slow
def test_a_long_log_is_exact(tmp_path: Path) -> None:
    run = long_run()
    starts = [row.start_ms for row in run.rows]
    assert [start for _, start, _, _ in cues(run)] == starts
    assert [start for start, *_ in ffmpeg_cues(run, tmp_path)] == starts


def test_hours_have_two_digits_or_more() -> None:
    run = run_of([Row(1, 360_000_000 + 61_007, 360_000_000 + 63_000, Event(0, 0, "hold"))])
    assert "100:01:01.007 --> 100:01:03.000\n" in to_webvtt(run).data.decode()


def test_rows_before_the_video_are_left_out_and_told() -> None:
    rows = [
        Row(1, -5000, -4000, Event(0, 0, "hold")),
        Row(2, -500, 700, Event(0, 0, "resume")),
        Row(3, 0, 0, Event(0, 0, "hold")),
    ]
    run = run_of(rows)
    assert [cue[:3] for cue in cues(run)] == [(2, 0, 1000), (3, 0, 1000)]
    assert to_webvtt(run).notes == (
        "WebVTT has no time before the video begins: 1 rows are left out",
    )


def test_cues_stand_in_order_of_time() -> None:
    """As the standard asks of authors; the log's order is the sheet's."""
    rows = [Row(1, 5000, 6000, Event(0, 0, "hold")), Row(2, 1000, 2000, Event(0, 0, "hold"))]
    assert [cue[0] for cue in cues(run_of(rows))] == [2, 1]


def test_an_arrow_stands_only_between_times() -> None:
    lines = to_webvtt(hard_run()).data.decode().splitlines()
    arrows = [line for line in lines if "-->" in line]
    assert len(arrows) == len(hard_run().rows)
    assert all(re.fullmatch(r"\d\d:\d\d:\d\d\.\d{3} --> \d\d:\d\d:\d\d\.\d{3}", a) for a in arrows)

"""`python -m tests.bench cost`: what each stage of `voxlog log` costs, and against the limit.

The limit is the encoder: whatever is asked of a stretch of speech, it must be encoded once. Costs
are seconds of processor time that the stage's own threads took, so that they hardly hang on what
else the machine does; two cores need half of the sum at best. Linux, a recording of one channel.
"""

import argparse
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch
from weakref import WeakKeyDictionary

from greenlet import getcurrent, greenlet, settrace
from rich import box
from rich.console import Console
from rich.table import Table

from samples_synthetic.recording import CONDITIONS
from tests.bench.runs import CACHE, MODEL, RUNS, BenchRun, bench_runs, say
from tests.bench.speed import run_measured
from voxlog import pipeline
from voxlog.cli.debrief import leave_debrief
from voxlog.log.folder import RunFolder
from voxlog.pipeline import LogRequest, log_recording
from voxlog.speaker import attach
from voxlog.speech.decoder import Decoder
from voxlog.speech.listen import thread_count
from voxlog.speech.model import SpeechModel
from voxlog.speech.model_files import find_model

__all__ = ["STAGES", "Stopwatch", "add_options", "main", "table_of"]

START, MODEL_LOAD, SHEET, SOUND = "start", "load the model", "sheet and its words", "read, segment"
ENCODE, LISTEN, FREE = "encode", "project for the decoder", "free transcription"
TREES, SEARCH, VOICES = "decode trees", "search and weigh", "voices"
FOLLOW, WRITE, DEBRIEF, REST = "follow", "write", "debrief", "rest"
STAGES = (
    *(START, MODEL_LOAD, SHEET, SOUND, ENCODE, LISTEN, FREE, TREES, SEARCH, VOICES),
    *(FOLLOW, WRITE, DEBRIEF, REST),
)

_IMPORTS = "import voxlog.pipeline, voxlog.cli.debrief, faster_whisper"


class Stopwatch:
    """Seconds of processor time by stage. What a stage has others do within it is theirs alone.

    clock: processor seconds of the calling thread. native: of the threads that do no Python; what
    they do is the one stage's that called them.
    """

    def __init__(self, clock: Callable[[], float], native: Callable[[], float]) -> None:
        self.seconds: defaultdict[str, float] = defaultdict(float)
        self._clock, self._native = clock, native
        self._one = threading.Lock()
        self._thread = threading.local()
        self._stages: WeakKeyDictionary[greenlet, str | None] = WeakKeyDictionary()

    def around(self, stage: str, call: Callable[..., Any], *, native: bool = False) -> Any:
        """The same call, timed. native: it waits for threads that do no Python."""

        def timed(*given: Any, **named: Any) -> Any:
            with self.timing(stage), self._of_native(stage, native):
                return call(*given, **named)

        return timed

    def around_each(self, stage: str, call: Callable[..., Iterator[Any]]) -> Any:
        """The same iterator, timed until it is at its end."""

        def timed(*given: Any, **named: Any) -> Iterator[Any]:
            items, end = call(*given, **named), object()
            following = self.around(stage, next)
            while (item := following(items, end)) is not end:
                yield item

        return timed

    @contextmanager
    def timing(self, stage: str) -> Iterator[None]:
        """Time what is done in the block, less what other turns of the thread do meanwhile."""
        now = getcurrent()
        self._watch_turns()
        self._charge(now)
        outer = self._stages.get(now)
        self._stages[now] = stage
        try:
            yield
        finally:
            self._charge(now)
            self._stages[now] = outer

    def _watch_turns(self) -> None:
        """Charge what was done to whose turn it was, each time that it is another's."""
        if getattr(self._thread, "charged", None) is None:
            self._thread.charged = self._clock()
            settrace(lambda event, turns: self._charge(turns[0]))

    def _charge(self, turn: greenlet) -> None:
        """What this thread did since the last time is of the stage that the turn was in."""
        now, stage = self._clock(), self._stages.get(turn)
        if stage is not None:
            with self._one:
                self.seconds[stage] += now - self._thread.charged
        self._thread.charged = now

    @contextmanager
    def _of_native(self, stage: str, native: bool) -> Iterator[None]:
        if not native:
            yield
            return
        with _ONE_CALL:
            before = self._native()
            yield
            with self._one:
                self.seconds[stage] += self._native() - before


_ONE_CALL = threading.Lock()


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of `python -m tests.bench cost`."""
    parser.add_argument("--runs", type=Path, default=RUNS, metavar="DIR", help="rendered set")
    parser.add_argument("--scenario", default="fit-a", help="the run (default: fit-a)")
    parser.add_argument("--over", default="clean,10", help=f"of {', '.join(CONDITIONS)}")


def main(options: argparse.Namespace) -> None:
    """Measure and print."""
    over = tuple(options.over.split(","))
    runs = bench_runs(options.runs, over, [options.scenario])
    found = {str(run): costs_of(run) for run in runs}
    Console(width=100, highlight=False).print(table_of(found))


def costs_of(run: BenchRun) -> dict[str, float]:
    """Seconds of processor time by stage; what no stage has is the rest."""
    say(str(run))
    start = run_measured([sys.executable, "-c", _IMPORTS], CACHE).processor_seconds
    native: set[int] = set()
    watch = Stopwatch(time.thread_time, lambda: _processor_seconds(native))
    begun = time.process_time()
    with tempfile.TemporaryDirectory() as folder, _watched(watch):
        out = Path(folder) / "run"
        with watch.timing(MODEL_LOAD):
            before = _threads()
            model = SpeechModel(find_model(MODEL, CACHE), thread_count())
            native |= _threads() - before
        request = LogRequest((run.audio,), run.sheet, out, MODEL, CACHE)
        log_recording(request, lambda at, of: None, model)
        with watch.timing(DEBRIEF):
            leave_debrief(out, quiet=True)
    rest = time.process_time() - begun - sum(watch.seconds.values())
    return {**watch.seconds, START: start, REST: rest}


@contextmanager
def _watched(watch: Stopwatch) -> Iterator[None]:
    """voxlog with a stopwatch around its stages."""
    listen = pipeline.listen
    timed = [
        *((pipeline, name, SHEET) for name in ("load_sheet", "sheet_phrases", "Recogniser")),
        (pipeline, "follow_run", FOLLOW),
        (RunFolder, "save", WRITE),
        (SpeechModel, "listen", LISTEN),
        (Decoder, "_expected", TREES),
        (attach, "with_voices", VOICES),
    ]
    native = [(SpeechModel, "encode", ENCODE), (SpeechModel, "_transcribed", FREE)]
    with ExitStack() as stack:
        for owner, name, stage in timed + native:
            is_native = (owner, name, stage) in native
            around = watch.around(stage, getattr(owner, name), native=is_native)
            stack.enter_context(patch.object(owner, name, around))
        around = watch.around_each(SOUND, pipeline.segments)
        stack.enter_context(patch.object(pipeline, "segments", around))
        stack.enter_context(
            patch.object(
                pipeline,
                "listen",
                lambda recognise, *given: listen(watch.around(SEARCH, recognise), *given),
            )
        )
        yield


def table_of(found: Mapping[str, Mapping[str, float]]) -> Table:
    """A row a stage: seconds, share of all, and how often the encoder's time; and the sums."""
    table = Table(box=box.SIMPLE_HEAD, title="Processor seconds by stage; the encoder is the limit")
    table.add_column("Stage")
    for run in found:
        for name in (run, "share", "encoder"):
            table.add_column(name, justify="right")
    for stage in STAGES:
        table.add_row(stage, *_cells([(costs.get(stage, 0.0), costs) for costs in found.values()]))
    sums = [(sum(costs.values()), costs) for costs in found.values()]
    table.add_section()
    table.add_row("all", *_cells(sums))
    return table


def _cells(figures: Sequence[tuple[float, Mapping[str, float]]]) -> list[str]:
    return [
        cell
        for seconds, costs in figures
        for cell in (
            f"{seconds:.2f}",
            f"{seconds / sum(costs.values()):.0%}",
            f"{seconds / costs[ENCODE]:.1f}",
        )
    ]


def _threads() -> set[int]:
    """The threads of this process, by the system's numbers."""
    return {int(thread.name) for thread in Path("/proc/self/task").iterdir()}


def _processor_seconds(threads: set[int]) -> float:
    """What these threads took so far. The clock of a thread: clock_getcpuclockid(3), Linux."""
    return sum(time.clock_gettime(~thread << 3 | 6) for thread in threads)

"""A device program that is good, refuses, crashes, hangs, or is too fast."""

import os
import time
from pathlib import Path

import pytest

from tests.capture.fake_sounddevice import wait_until
from tests.capture.scripted_program import Scripted
from voxlog.capture import opening as module
from voxlog.capture.opening import Opening
from voxlog.capture.wire import Arrival, Input
from voxlog.errors import InputError

ASKED = Input("desk", 2)


def first_values(arrivals: list[Arrival]) -> list[int]:
    return [int(arrival.samples[0, 0]) for arrival in arrivals]


def is_there(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


def test_it_answers_and_gives_until_it_is_asked_to_end(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """Then it gives what it has left; what a driver writes to stderr goes nowhere."""
    last = "give_on(); time.sleep(0.1); give(2)"
    scripted = Scripted(monkeypatch, tmp_path, f"opened(48_000); {last}")
    opening = Opening(ASKED)
    assert opening.answer() == Input("Desk interface", 2, "ALSA", 48_000)
    arrivals = []
    for arrival in opening.arrivals():
        arrivals.append(arrival)
        if len(arrivals) == 5:
            opening.end()
    opening.close()
    assert len(arrivals) >= 7
    assert first_values(arrivals) == [800 * n % 32_768 for n in range(len(arrivals))]
    assert scripted.asked() == ["'desk' 2 '' 0"]
    assert not is_there(scripted.processes()[0])
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("start", "message"),
    [
        ("refuse('device desk: no such input')", "^device desk: no such input$"),
        ("die()", "its driver crashed"),
        ("hang()", "its driver does not answer"),
    ],
)
def test_what_is_not_opened_is_one_line(
    start: str, message: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(module, "START_SECONDS", 20.0 if "hang" not in start else 0.5)
    Scripted(monkeypatch, tmp_path, start)
    opening = Opening(ASKED)
    with pytest.raises(InputError, match=message):
        opening.answer()
    assert list(opening.arrivals()) == []
    opening.close()


def test_a_program_that_cannot_be_started_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PROGRAM", ("/nowhere/python",))
    with pytest.raises(InputError, match=r"cannot be opened \(No such file or directory\)"):
        Opening(ASKED)


@pytest.mark.parametrize("end", ["die()", "half(); die()", "half(); hang()"])
def test_what_came_before_it_died_or_hung_is_given(
    end: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Whatever it ignores, it is gone then."""
    scripted = Scripted(monkeypatch, tmp_path, f"opened(); give(3); {end}")
    opening = Opening(ASKED)
    opening.answer()
    assert first_values(list(opening.arrivals())) == [0, 800, 1600]
    opening.close()
    assert not is_there(scripted.processes()[0])


@pytest.mark.slow
def test_the_first_block_may_take_longer_than_the_next(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    Scripted(monkeypatch, tmp_path, "opened(); time.sleep(1.2); give(2); hang()")
    opening = Opening(ASKED)
    opening.answer()
    assert len(list(opening.arrivals())) == 2
    opening.close()


def test_an_opening_that_is_waited_for_can_be_given_up(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    Scripted(monkeypatch, tmp_path, "hang()")
    opening = Opening(ASKED)
    opening.end()
    before = time.monotonic()
    with pytest.raises(InputError):
        opening.answer()
    opening.close()
    opening.close()
    assert time.monotonic() - before < module.START_SECONDS


@pytest.mark.slow
def test_what_nobody_takes_stays_with_the_program(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """It waits in its queue and the pipe, so that a recording held up loses nothing."""
    monkeypatch.setattr(module, "AHEAD_BLOCKS", 10)
    done = tmp_path / "done"
    Scripted(monkeypatch, tmp_path, f"opened(); give(300); open({str(done)!r}, 'w'); hang()")
    opening = Opening(ASKED)
    opening.answer()
    wait_until(lambda: opening._arrivals.qsize() == 10, 20)
    time.sleep(0.5)
    assert opening._arrivals.qsize() == 10
    assert not done.exists()
    got = first_values(list(opening.arrivals()))
    opening.close()
    assert got == [800 * n % 32_768 for n in range(300)]


def test_closing_waits_for_nobody_who_takes_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(module, "AHEAD_BLOCKS", 10)
    scripted = Scripted(monkeypatch, tmp_path, "opened(); give_on()")
    opening = Opening(ASKED)
    opening.answer()
    wait_until(lambda: opening._arrivals.qsize() == 10, 20)
    opening.close()
    assert not is_there(scripted.processes()[0])

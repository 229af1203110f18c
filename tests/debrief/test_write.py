import shutil
from pathlib import Path

import pytest

from tests.debrief import made
from tests.debrief.made import EVENTS, decided, make_folder
from tests.debrief.pages import Page
from voxlog.debrief.write import DEBRIEF, write_debrief
from voxlog.errors import InputError
from voxlog.log.verify import verify
from voxlog.review.review_log import append_decision


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "s-07")


def test_the_page_stands_in_the_folder_and_the_log_is_as_it_was(folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert write_debrief(folder) == folder / DEBRIEF
    assert {path: path.read_bytes() for path in before} == before
    assert {path.name for path in folder.iterdir()} - {path.name for path in before} == {
        *("audio", DEBRIEF)
    }
    assert verify(folder).is_whole


def test_the_same_folder_gives_the_same_bytes_wherever_it_stands(
    folder: Path, tmp_path: Path
) -> None:
    first = write_debrief(folder).read_bytes()
    elsewhere = tmp_path / "elsewhere" / "s-07"
    shutil.copytree(folder, elsewhere)
    assert write_debrief(folder).read_bytes() == first
    assert write_debrief(elsewhere).read_bytes() == first


def test_clips_are_inside_unless_left_out(folder: Path) -> None:
    with_clips = Page(write_debrief(folder).read_text(encoding="utf-8"))
    without = Page(write_debrief(folder, with_clips=False).read_text(encoding="utf-8"))
    sources = [tag.attributes["src"] or "" for tag in with_clips.named("audio")]
    assert len(sources) == 5
    assert all(source.startswith("data:audio/ogg;base64,T2dnU") for source in sources)
    assert without.named("audio") == []
    assert "full recording" in without.words.lower()


def test_the_lightest_findings_have_no_clip_where_there_are_too_many(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voxlog.debrief.write.MOST", 2)
    page = Page(write_debrief(folder).read_text(encoding="utf-8"))
    labels = [tag.attributes["aria-label"] or "" for tag in page.named("audio")]
    assert [label.split(":")[0] for label in labels] == ["Finding 1", "Finding 2"]


def test_another_place_links_back_to_the_folder(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "pages" / "one.html"
    out.parent.mkdir()
    assert write_debrief(folder, out) == out
    links = [tag.attributes["href"] for tag in Page(out.read_text(encoding="utf-8")).named("a")]
    assert "../s-07/audio/channel-1.flac" in links
    assert (out.parent / "../s-07/audio/channel-1.flac").is_file()


def test_a_review_shows_once_the_page_is_made_again(folder: Path) -> None:
    write_debrief(folder)
    append_decision(folder, decided(2, "cleared", "a cough in the line"))
    assert "a cough in the line" in write_debrief(folder).read_text(encoding="utf-8")


def test_a_recording_that_is_not_here_leaves_a_page_without_sound(folder: Path) -> None:
    shutil.rmtree(folder / "audio")
    page = Page(write_debrief(folder).read_text(encoding="utf-8"))
    assert page.named("audio") == []
    assert page.words.count("the sound of this channel is not here") == 2


def test_a_place_that_cannot_be_written_is_said_and_nothing_is_left(
    folder: Path, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="name another file"):
        write_debrief(folder, tmp_path / "nowhere" / "page.html")
    (tmp_path / "taken").mkdir()
    with pytest.raises(InputError, match="name another file"):
        write_debrief(folder, tmp_path / "taken")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["s-07", "taken"]


def test_a_fault_on_the_way_leaves_the_page_of_before(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = write_debrief(folder).read_bytes()

    def broken(*_: object) -> str:
        raise RuntimeError("broken")

    monkeypatch.setattr("voxlog.debrief.write.render_page", broken)
    with pytest.raises(RuntimeError):
        write_debrief(folder)
    assert (folder / DEBRIEF).read_bytes() == before


@pytest.mark.slow
def test_a_run_of_two_hours_is_a_small_page(tmp_path: Path) -> None:
    """Four waveforms, 600 rows and more, 63 items: under 5 MB without clips."""
    folder = made.make_two_hours(tmp_path / "long")
    size = write_debrief(folder, with_clips=False).stat().st_size
    assert len(EVENTS) < 600 < len(folder.joinpath("events.csv").read_text().splitlines())
    assert size < 5_000_000

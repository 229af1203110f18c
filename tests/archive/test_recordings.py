"""Which recordings an archive has."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from voxlog.archive.recordings import Recorded, find_recordings, read_index
from voxlog.errors import InputError
from voxlog.log.people import People

POSITIONS = ("conductor", "attendant")


def test_audio_files_by_their_names_in_order(tree: Path) -> None:
    (tree / ".trash").mkdir()
    (tree / ".trash/old.wav").write_bytes(b"")
    (tree / ".hidden.wav").write_bytes(b"")
    found = find_recordings(tree, tree / "nowhere")
    assert [one.audio[0].relative_to(tree).as_posix() for one in found] == [
        "2026/one.wav",
        "2026/two.FLAC",
        "three (last).mp3",
        "two again.flac",
    ]
    assert all(one == Recorded(one.audio) for one in found)


def test_the_archive_itself_may_lie_in_the_tree(tree: Path) -> None:
    found = find_recordings(tree, tree / "2026")
    assert [one.audio[0].name for one in found] == ["three (last).mp3", "two again.flac"]


@pytest.mark.parametrize("name", ["nowhere", "empty", "tree/notes.txt"])
def test_a_tree_without_audio_is_told(tree: Path, name: str) -> None:
    (tree.parent / "empty").mkdir()
    with pytest.raises(InputError, match="name the folder that has the recordings"):
        find_recordings(tree.parent / name, tree)


def test_an_index(tree: Path, tmp_path: Path) -> None:
    index = tmp_path / "runs.csv"
    index.write_text(
        "\ufeffcrew,audio,start,subjects\n"
        "conductor=C-12; attendant = C-03,2026/one.wav,2026-11-25T09:30:00+01:00,S-07;S-08\n"
        ",2026/two.FLAC ; two again.flac,,\n",
        encoding="utf-8",
    )
    assert read_index(index, tree, POSITIONS) == [
        Recorded(
            (tree / "2026/one.wav",),
            datetime(2026, 11, 25, 8, 30, tzinfo=UTC),
            People(("S-07", "S-08"), {"conductor": "C-12", "attendant": "C-03"}),
        ),
        Recorded((tree / "2026/two.FLAC", tree / "two again.flac")),
    ]


def test_an_index_needs_one_column_only(tree: Path, tmp_path: Path) -> None:
    index = tmp_path / "runs.csv"
    index.write_text("audio\n2026/one.wav\n", encoding="utf-8")
    assert read_index(index, tree, POSITIONS) == [Recorded((tree / "2026/one.wav",))]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "its columns are none"),
        ("file\nx.wav\n", "its columns are file"),
        ("audio,who\nx.wav,me\n", "its columns are audio, who"),
        ("audio,start\n,\n", "line 2: no audio named"),
        ("audio,start\nx.wav,noon\n", "line 2: start 'noon'"),
        ("audio,start\nx.wav,2026-11-25T09:30:00\n", "with its zone"),
        ("audio,crew\nx.wav,C-12\n", "line 2: crew 'C-12' is not position=code"),
        ("audio,subjects\nx.wav,S-07\ny.wav,Jane Doe\n", "line 3: 'Jane Doe': not a code"),
        ("audio,crew\nx.wav,conductor=Jane\n", "line 2: 'Jane': not a code"),
        ("audio,crew\nx.wav,surgeon=C-12\n", "line 2: the sheet has no position surgeon"),
        ("audio\n\xff\n", "save it as CSV in UTF-8"),
    ],
)
def test_an_index_that_cannot_be_right(tmp_path: Path, text: str, says: str) -> None:
    index = tmp_path / "runs.csv"
    index.write_bytes(text.encode("latin-1"))
    with pytest.raises(InputError) as caught:
        read_index(index, tmp_path, POSITIONS)
    assert says in str(caught.value)


def test_an_index_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_index(tmp_path / "runs.csv", tmp_path, POSITIONS)

"""Where an export goes, and where not."""

from pathlib import Path

import pytest

from voxlog.errors import InputError
from voxlog.export.files import check_place, default_place, save
from voxlog.export.run import Written


@pytest.mark.parametrize(
    ("folder", "place"),
    [("runs/s-07", "runs/s-07.vtt"), ("s-07/", "s-07.vtt"), ("/runs/s-07", "/runs/s-07.vtt")],
)
def test_beside_the_run_folder(folder: str, place: str) -> None:
    assert default_place(Path(folder), ".vtt") == Path(place)


def test_beside_the_folder_one_is_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "s-07").mkdir()
    monkeypatch.chdir(tmp_path / "s-07")
    assert default_place(Path(), ".vtt").resolve() == tmp_path / "s-07.vtt"


def test_never_in_the_run_folder(run_folder: Path) -> None:
    (run_folder / "audio").mkdir()
    for place in (run_folder / "x.vtt", run_folder / "audio/x.vtt", run_folder / "../s-07/x.vtt"):
        with pytest.raises(InputError, match="the log vouches for"):
            check_place(place, run_folder, (), overwrite=True)


def test_a_file_is_replaced_only_where_that_is_said(run_folder: Path, tmp_path: Path) -> None:
    place = tmp_path / "x_events.tsv"
    check_place(place, run_folder, (".json",), overwrite=False)
    (tmp_path / "x_events.json").write_text("{}")
    with pytest.raises(InputError, match=r"x_events\.json: there"):
        check_place(place, run_folder, (".json",), overwrite=False)
    check_place(place, run_folder, (".json",), overwrite=True)
    place.mkdir()
    with pytest.raises(InputError, match="a folder"):
        check_place(place, run_folder, (), overwrite=True)


def test_all_files_are_written_and_named(tmp_path: Path) -> None:
    place = tmp_path / "new/x_events.tsv"
    paths = save(place, Written(b"table", {".json": b"sidecar"}))
    assert [path.read_bytes() for path in paths] == [b"table", b"sidecar"]
    assert sorted(path.name for path in place.parent.iterdir()) == ["x_events.json", "x_events.tsv"]


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        save(tmp_path / "file/x.vtt", Written(b""))

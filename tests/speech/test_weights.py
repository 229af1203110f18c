"""The weights file: CTranslate2's own model, files made by hand, and files that are none.

The layout is that of ``ctranslate2/specs/model_spec.py`` (`_save`), binary version 6.
"""

import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from voxlog.errors import InputError
from voxlog.speech.model_files import ModelFiles
from voxlog.speech.weights import as_table, as_weights, changed_model, read_variables

TYPES = ("float32", "int8", "int16", "int32", "float16")


def text(value: str) -> bytes:
    return struct.pack("<H", len(value) + 1) + value.encode() + b"\0"


def variable(name: str, array: NDArray[np.generic]) -> bytes:
    shape = struct.pack(f"<B{array.ndim}I", array.ndim, *array.shape)
    kind = struct.pack("<BI", TYPES.index(array.dtype.name), array.nbytes)
    return text(name) + shape + kind + array.tobytes()


def model_bytes(
    variables: dict[str, NDArray[np.generic]],
    aliases: dict[str, str] | None = None,
    version: int = 6,
) -> bytes:
    """A model file as CTranslate2 writes it."""
    parts = [struct.pack("<I", version), text("WhisperSpec"), struct.pack("<I", 3)]
    parts.append(struct.pack("<I", len(variables)))
    parts += [variable(name, array) for name, array in variables.items()]
    parts.append(struct.pack("<I", len(aliases or {})))
    parts += [text(alias) + text(name) for alias, name in (aliases or {}).items()]
    return b"".join(parts)


def array(values: list[object], dtype: str) -> NDArray[np.generic]:
    return np.array(values, dtype=dtype)


ROWS = [[10, -20, 30], [4, 8, -12]]


@pytest.mark.parametrize(
    ("variables", "expected"),
    [
        ({"d/w": array(ROWS, "float32")}, ROWS),
        ({"d/w": array(ROWS, "float16")}, ROWS),
        # One scale for each row, one in all: the stored integer is value times scale.
        (
            {"d/w": array(ROWS, "int8"), "d/w_scale": array([10, 4], "float32")},
            [[1, -2, 3], [1, 2, -3]],
        ),
        (
            {"d/w": array(ROWS, "int8"), "d/w_scale": array([10, 4], "float16")},
            [[1, -2, 3], [1, 2, -3]],
        ),
        (
            {"d/w": array(ROWS, "int16"), "d/w_scale": np.array(2, "float32")},
            [[5, -10, 15], [2, 4, -6]],
        ),
    ],
)
def test_types_and_scales(
    tmp_path: Path, variables: dict[str, NDArray[np.generic]], expected: list[list[float]]
) -> None:
    path = tmp_path / "model.bin"
    path.write_bytes(model_bytes(variables))
    found = as_weights(read_variables(path), "d/")
    assert list(found) == ["w"]
    assert found["w"].dtype == np.float32
    assert found["w"].tolist() == expected


def test_only_what_has_the_prefix_and_aliases_of_it(tmp_path: Path) -> None:
    one, two = array([1, 2], "float32"), array([3], "float32")
    path = tmp_path / "model.bin"
    path.write_bytes(
        model_bytes({"decoder/a": one, "encoder/b": two}, {"decoder/c": "decoder/a"}, version=4)
    )
    found = as_weights(read_variables(path), "decoder/")
    assert {name: values.tolist() for name, values in found.items()} == {"a": [1, 2], "c": [1, 2]}
    assert found["a"] is found["c"]  # the widest variable of Whisper has two names


def test_without_one_by_any_of_its_names(tmp_path: Path) -> None:
    path = tmp_path / "model.bin"
    stored = {"d/a": array([1], "float32"), "d/b": array([2], "float32")}
    path.write_bytes(model_bytes(stored, {"d/c": "d/b"}))
    assert list(as_weights(read_variables(path), "d/", but="d/c")) == ["a"]


@pytest.mark.parametrize(
    "variables",
    [
        {"d/w": array(ROWS, "float16")},
        {"d/w": array(ROWS, "float32")},
        {"d/w": array(ROWS, "int8"), "d/w_scale": array([10, 4], "float16")},
    ],
)
def test_a_table_is_what_the_weights_are_rounded(
    tmp_path: Path, variables: dict[str, NDArray[np.generic]]
) -> None:
    path = tmp_path / "model.bin"
    path.write_bytes(model_bytes(variables))
    table = as_table(read_variables(path), "d/w")
    assert table.dtype == np.float16
    assert table.tolist() == as_weights(read_variables(path), "d/")["w"].astype(np.float16).tolist()


WHOLE = model_bytes({"d/w": array(ROWS, "float32")}, {"d/v": "d/w"})


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "not a whole CTranslate2 model"),
        (b"RIFF....WAVE", "binary version"),
        (b"version https://git-lfs.github.com/spec/v1\n", "binary version"),
        (model_bytes({}, version=3), "binary version 3"),
        (model_bytes({}, version=7), "binary version 7"),
        (WHOLE[: len(WHOLE) // 2], "not a whole CTranslate2 model"),
        (WHOLE[:-8], "not a whole CTranslate2 model"),
        # An alias of what is not there, a type that there is not, a shape that does not fit.
        (model_bytes({}, {"d/v": "d/w"}), "not a whole CTranslate2 model"),
        (WHOLE.replace(struct.pack("<BI", 0, 24), struct.pack("<BI", 9, 24)), "not a whole"),
        (WHOLE.replace(struct.pack("<BII", 2, 2, 3), struct.pack("<BII", 2, 2, 4)), "not a whole"),
    ],
)
def test_what_is_no_model_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "model.bin"
    path.write_bytes(content)
    with pytest.raises(InputError, match=message) as error:
        read_variables(path)
    assert str(error.value).startswith(str(path))
    assert "\n" not in str(error.value)


@given(cut=st.integers(0, len(WHOLE) - 2))
def test_no_part_of_a_model_passes_for_a_whole_one(
    tmp_path_factory: pytest.TempPathFactory, cut: int
) -> None:
    path = tmp_path_factory.getbasetemp() / "part.bin"
    path.write_bytes(WHOLE[:cut])
    with pytest.raises(InputError):
        as_weights(read_variables(path), "d/")


@given(junk=st.binary(max_size=200))
def test_junk_is_refused_or_empty(tmp_path_factory: pytest.TempPathFactory, junk: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "junk.bin"
    path.write_bytes(struct.pack("<I", 6) + junk)
    try:
        found = as_weights(read_variables(path), "d/")
    except InputError:
        return
    assert found == {}


HALF = {"e/w": array(ROWS, "float16"), "e/b": array([1, 2, 3], "float16")}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, {"w": ROWS, "b": [1, 2, 3]}),
        ({"e/b": [0.5, 0, -3]}, {"w": ROWS, "b": [1.5, 2, 0]}),
        # The outer product of [1, 2] and [1, 0, -1].
        (
            {"e/w.left": [[1], [2]], "e/w.right": [[1, 0, -1]]},
            {"w": [[11, -20, 29], [6, 8, -14]], "b": [1, 2, 3]},
        ),
    ],
)
def test_a_model_is_changed_and_nothing_else_of_it(
    tmp_path: Path, changes: dict[str, list[object]], expected: dict[str, list[object]]
) -> None:
    path = tmp_path / "model.bin"
    path.write_bytes(model_bytes(HALF, {"e/c": "e/b"}))
    changed = changed_model(path, {name: np.array(v, np.float16) for name, v in changes.items()})
    (tmp_path / "changed.bin").write_bytes(changed)
    found = as_weights(read_variables(tmp_path / "changed.bin"), "e/")
    assert {name: values.tolist() for name, values in found.items()} == {
        **expected,
        "c": expected["b"],
    }
    assert len(changed) == len(path.read_bytes())


@pytest.mark.parametrize(
    "changes",
    [
        {"e/none": [1]},
        {"e/b": [1, 2]},
        {"e/w.left": [[1], [2], [3]], "e/w.right": [[1, 0, -1]]},
        {"e/n": [1]},
    ],
    ids=["no such variable", "another size", "another shape", "whole numbers"],
)
def test_changes_of_another_model_are_refused(
    tmp_path: Path, changes: dict[str, list[object]]
) -> None:
    path = tmp_path / "model.bin"
    path.write_bytes(model_bytes({**HALF, "e/n": array([1], "int8")}))
    with pytest.raises(InputError, match="not as the changes need it") as error:
        changed_model(path, {name: np.array(v, np.float16) for name, v in changes.items()})
    assert str(error.value).startswith(str(path))


def test_the_default_model(model_files: ModelFiles) -> None:
    """Sizes of tiny.en after Radford et al. 2022, table 1: 4 layers, width 384; 448 places."""
    found = as_weights(read_variables(model_files.folder / "model.bin"), "decoder/")
    assert found["embeddings/weight"].shape == (51864, 384)
    assert found["position_encodings/encodings"].shape == (448, 384)
    assert sum(name.endswith("/self_attention/linear_0/weight") for name in found) == 4
    for values in found.values():
        assert values.dtype == np.float32
        assert np.isfinite(values).all()

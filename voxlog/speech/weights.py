"""Read the weights of a CTranslate2 Whisper model as arrays.

CTranslate2 scores one text against one encoder output and copies that output for every text of a
batch. A run sheet asks the same question of some hundred phrases that share their beginnings, so
voxlog keeps the decoder's arrays itself (``decoder.py``) and reads them from the very file that
CTranslate2 loads. The layout is CTranslate2's own serialisation, binary version 6
(``ctranslate2/specs/model_spec.py`` of the package): a header, then name, shape, type and bytes of
each variable, then aliases.

A model can also be changed on its way: ``changed_model`` adds to some of its variables. What is
added is stored in few numbers, as Hu et al. 2021 (arXiv:2106.09685) have it: a matrix of low rank,
given by its two factors.
"""

import struct
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voxlog.errors import InputError

__all__ = ["Variables", "as_table", "as_weights", "changed_model", "read_variables"]

Variables = Mapping[str, NDArray[np.generic]]
"""Arrays by name, as a model file has them."""

_TYPES: tuple[type[np.generic], ...] = (np.float32, np.int8, np.int16, np.int32, np.float16)
_VERSIONS = (4, 5, 6)


class _Cursor:
    """A position in the file's bytes."""

    def __init__(self, data: memoryview) -> None:
        self._data = data
        self._at = 0

    def number(self, code: str) -> int:
        (value,) = struct.unpack_from(f"<{code}", self._data, self._at)
        self._at += struct.calcsize(f"<{code}")
        return int(value)

    def text(self) -> str:
        length = self.number("H")
        raw = bytes(self._data[self._at : self._at + length - 1])
        self._at += length
        return raw.decode()

    def array(self) -> NDArray[np.generic]:
        shape = [self.number("I") for _ in range(self.number("B"))]
        dtype = np.dtype(_TYPES[self.number("B")])
        size = self.number("I")
        array = np.frombuffer(self._data, dtype, size // dtype.itemsize, self._at)
        self._at += size
        return array.reshape(shape)


def read_variables(path: Path) -> Variables:
    """All of a model file; InputError if it is no CTranslate2 model of a version known here."""
    return _variables(path, memoryview(path.read_bytes()))


def as_weights(raw: Variables, prefix: str, but: str = "") -> dict[str, NDArray[np.float32]]:
    """The variables whose name starts with ``prefix``, as float32, by the rest of their name.

    Integer weights are divided by the ``_scale`` stored beside them; what is one variable under
    two names is one array. but: one that is not wanted, by any of its names in full.
    """
    unwanted = raw.get(but)
    known: dict[int, NDArray[np.float32]] = {}
    found = {}
    for name, array in raw.items():
        if array is unwanted:
            continue
        if name.startswith(prefix) and not name.endswith("_scale"):
            if id(array) not in known:
                known[id(array)] = _as_float(name, raw)
            found[name.removeprefix(prefix)] = known[id(array)]
    return found


def as_table(raw: Variables, name: str) -> NDArray[np.float16]:
    """One variable by its full name, as float16; as such it is stored, or `as_weights` makes it.

    The table of a model's tokens is two thirds of its decoder, and is only looked up. KeyError if
    there is no such variable.
    """
    if raw[name].dtype == np.float16 and f"{name}_scale" not in raw:
        return raw[name].astype(np.float16)
    return _as_float(name, raw).astype(np.float16)


def changed_model(path: Path, changes: Mapping[str, NDArray[np.float16]]) -> bytes:
    """The model file with ``changes`` added to its variables, which must be floating-point.

    changes: ``NAME`` is added as it is; ``NAME.left`` (m, rank) times ``NAME.right`` (rank, n) is
    added to the variable of that name, whose shape is m by n in all. Sums are made in double
    precision and rounded once, so that every machine makes the same file. Raises InputError as
    read_variables does, and if a change does not fit the model.
    """
    data = bytearray(path.read_bytes())
    raw = _variables(path, memoryview(data))
    for name, change in _full(changes).items():
        found = raw.get(name)
        if found is None or found.size != change.size or found.dtype.kind != "f":
            raise InputError(f"{path}: {name} is not as the changes need it; fetch the model again")
        found[...] = (found.astype(np.float64) + change.reshape(found.shape)).astype(found.dtype)
    return bytes(data)


def _full(changes: Mapping[str, NDArray[np.float16]]) -> dict[str, NDArray[np.float64]]:
    full = {}
    for key, change in changes.items():
        name, _, side = key.partition(".")
        if side == "left":
            right = changes[f"{name}.right"].astype(np.float64)
            full[name] = change.astype(np.float64) @ right
        elif not side:
            full[name] = change.astype(np.float64)
    return full


def _variables(path: Path, data: memoryview) -> Variables:
    """Views of a model file's bytes by name; InputError for what is no model file."""
    try:
        cursor = _Cursor(data)
        version = cursor.number("I")
        if version not in _VERSIONS:
            raise InputError(
                f"{path}: CTranslate2 binary version {version}; convert the model with "
                f"ctranslate2 4.x (versions {_VERSIONS[0]} to {_VERSIONS[-1]} are read)"
            )
        cursor.text()
        cursor.number("I")
        raw = {}
        for _ in range(cursor.number("I")):
            name = cursor.text()
            raw[name] = cursor.array()
        for _ in range(cursor.number("I")):
            alias, name = cursor.text(), cursor.text()
            raw[alias] = raw[name]
    except (struct.error, IndexError, ValueError, KeyError, UnicodeDecodeError) as error:
        raise InputError(
            f"{path}: not a whole CTranslate2 model ({error}); fetch the model again"
        ) from error
    return raw


def _as_float(name: str, raw: Variables) -> NDArray[np.float32]:
    array = raw[name].astype(np.float32)
    scale = raw.get(f"{name}_scale")
    if scale is None:
        return array
    each = scale.astype(np.float32)
    out: NDArray[np.float32] = array / (
        each[:, None] if each.ndim == 1 and array.ndim == 2 else each
    )
    return out

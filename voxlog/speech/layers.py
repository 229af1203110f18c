"""Layers of a network as ONNX Runtime works them out: products with weights laid out once.

numpy's matrix product lays the weights out anew at every call, which for twenty rows takes longer
than the product (measured: DEVELOPERS.md). ONNX Runtime does it when a model is loaded, does what
stands between two products in passing, and leaves Python alone meanwhile. A model is given to it as
the bytes of a file, which it keeps in memory; the weights are therefore given beside them. The few
fields that are needed of the format are written here: numbers and names are those of onnx.proto
(ONNX 1.x, IR version 8, operator set 17).
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Layers", "Node"]

Floats = NDArray[np.float32]

_IR_VERSION = 8
_OPERATORS = {"": 17, "com.microsoft": 1}
_FLOAT = 1
_EXTERNAL = 1


class Node(NamedTuple):
    """An operation: of what, and what its result is called.

    operator: as ONNX names it. domain: empty for standard ones.
    """

    operator: str
    inputs: Sequence[str]
    output: str
    attributes: Mapping[str, int | float] = {}
    domain: str = ""


class Layers:
    """Operations in a row, with their weights."""

    def __init__(
        self,
        nodes: Sequence[Node],
        weights: Mapping[str, Floats],
        inputs: Sequence[str],
        outputs: Sequence[str],
    ) -> None:
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        options.enable_cpu_mem_arena = False
        kept = [np.ascontiguousarray(one, np.float32) for one in weights.values()]
        values = [onnxruntime.OrtValue.ortvalue_from_numpy(one) for one in kept]
        options.add_external_initializers(list(weights), values)
        self._inputs = tuple(inputs)
        self._session: Any = onnxruntime.InferenceSession(
            _model(nodes, weights, inputs, outputs), options, providers=["CPUExecutionProvider"]
        )

    def __call__(self, *given: Floats) -> list[Floats]:
        """The outputs for these inputs, all (rows, width)."""
        found: list[Floats] = self._session.run(None, dict(zip(self._inputs, given, strict=True)))
        return found


def _model(
    nodes: Sequence[Node],
    weights: Mapping[str, Floats],
    inputs: Sequence[str],
    outputs: Sequence[str],
) -> bytes:
    """A ModelProto."""
    graph = b"".join(
        [
            *(_part(1, _node(node)) for node in nodes),
            _part(2, b"layers"),
            *(_part(5, _tensor(name, array)) for name, array in weights.items()),
            *(_part(11, _rows(name)) for name in inputs),
            *(_part(12, _rows(name)) for name in outputs),
        ]
    )
    sets = [_text(1, domain) + _number(2, version) for domain, version in _OPERATORS.items()]
    return _number(1, _IR_VERSION) + _part(7, graph) + b"".join(_part(8, one) for one in sets)


def _node(node: Node) -> bytes:
    """A NodeProto."""
    return b"".join(
        [
            *(_text(1, name) for name in node.inputs),
            _text(2, node.output),
            _text(4, node.operator),
            *(_part(5, _attribute(name, value)) for name, value in node.attributes.items()),
            _text(7, node.domain),
        ]
    )


def _attribute(name: str, value: float) -> bytes:
    """An AttributeProto: type 1 is a float, type 2 an integer."""
    if isinstance(value, int):
        return _text(1, name) + _number(3, value) + _number(20, 2)
    return _text(1, name) + _varint(2 << 3 | 5) + np.float32(value).tobytes() + _number(20, 1)


def _tensor(name: str, array: Floats) -> bytes:
    """A TensorProto whose numbers are given beside the model."""
    shape = b"".join(_number(1, size) for size in array.shape)
    place = _part(13, _text(1, "location") + _text(2, "beside"))
    return shape + _number(2, _FLOAT) + _text(8, name) + place + _number(14, _EXTERNAL)


def _rows(name: str) -> bytes:
    """A ValueInfoProto: numbers of any shape with two axes."""
    axes = _part(1, _text(2, "rows")) + _part(1, b"")
    return _text(1, name) + _part(2, _part(1, _number(1, _FLOAT) + _part(2, axes)))


def _text(field: int, text: str) -> bytes:
    return _part(field, text.encode())


def _part(field: int, content: bytes) -> bytes:
    return _varint(field << 3 | 2) + _varint(len(content)) + content


def _number(field: int, value: int) -> bytes:
    return _varint(field << 3) + _varint(value)


def _varint(value: int) -> bytes:
    """A number in groups of seven bits, the lowest first (Protocol Buffers, "Encoding")."""
    groups = []
    while value > 0x7F:
        groups.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes([*groups, value])

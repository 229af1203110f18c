"""Layers made for ONNX Runtime, which reads their bytes, against numpy, which knows no format."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import erf

from voxlog.speech.layers import Layers, Node

Floats = NDArray[np.float32]

RANDOM = np.random.default_rng(3)


def drawn(*shape: int) -> Floats:
    return RANDOM.normal(0, 2, shape).astype(np.float32)


WEIGHT, BIAS, GAMMA, BETA = drawn(24, 300), drawn(300), drawn(300), drawn(300)
PRODUCT = Node("MatMul", ["x", "weight"], "product")


def normalised(x: Floats, epsilon: float) -> Floats:
    centred = x - x.mean(axis=1, keepdims=True)
    return centred / np.sqrt((centred**2).mean(axis=1, keepdims=True) + epsilon) * GAMMA + BETA


@pytest.mark.parametrize(
    ("node", "weights", "expected"),
    [
        (Node("Add", ["product", "bias"], "y"), {"bias": BIAS}, lambda x: x + BIAS),
        (Node("Relu", ["product"], "y"), {}, lambda x: np.maximum(x, 0)),
        (
            Node("Gelu", ["product"], "y", domain="com.microsoft"),
            {},
            lambda x: x * (1 + erf(x / np.sqrt(2))) / 2,
        ),
        *(
            (
                Node("LayerNormalization", ["product", "g", "b"], "y", {"epsilon": epsilon}),
                {"g": GAMMA, "b": BETA},
                lambda x, epsilon=epsilon: normalised(x, epsilon),
            )
            for epsilon in (1e-5, 20.0)
        ),
        *(
            (
                Node("Softmax", ["product"], "y", {"axis": axis}),
                {},
                lambda x, axis=axis: np.exp(x) / np.exp(x).sum(axis=axis, keepdims=True),
            )
            for axis in (0, 1)
        ),
    ],
)
@pytest.mark.parametrize("rows", [1, 7, 200])
def test_it_works_out_what_the_operators_say(
    rows: int, node: Node, weights: dict[str, Floats], expected: Callable[[Floats], Floats]
) -> None:
    layers = Layers([PRODUCT, node], {"weight": WEIGHT, **weights}, ["x"], ["y"])
    x = drawn(rows, 24) / 10
    (found,) = layers(x)
    assert np.allclose(found, expected(x @ WEIGHT), rtol=1e-4, atol=1e-4)


def test_inputs_and_outputs_are_in_their_order() -> None:
    nodes = [Node("Sub", ["one", "other"], "less"), Node("Add", ["one", "other"], "more")]
    one, other = drawn(3, 5), drawn(3, 5)
    more, less = Layers(nodes, {}, ["other", "one"], ["more", "less"])(other, one)
    assert np.array_equal(more, one + other)
    assert np.array_equal(less, one - other)


def test_the_same_rows_give_the_same_bits() -> None:
    layers = Layers([PRODUCT], {"weight": WEIGHT}, ["x"], ["product"])
    x = drawn(50, 24)
    assert np.array_equal(layers(x)[0], layers(x.copy())[0])

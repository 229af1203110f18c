"""The table of formats, and what holds for all of them."""

import pytest

from tests.export.rows import hard_run
from voxlog.cli.export import BESIDE, ExportFormat
from voxlog.export.formats import FORMATS


def test_the_command_knows_every_format() -> None:
    assert [each.value for each in ExportFormat] == list(FORMATS)


@pytest.mark.parametrize("name", FORMATS)
def test_the_same_run_gives_the_same_bytes(name: str) -> None:
    write = FORMATS[name].write
    assert write(hard_run()) == write(hard_run())
    assert set(write(hard_run()).beside) == set(BESIDE.get(name, ()))

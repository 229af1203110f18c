"""Settings by name, alone and together."""

import pytest

from samples_synthetic.setting import SETTINGS, Setting, setting_of
from voxlog.errors import InputError


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        ("fan", Setting(noise="fan", over=3)),
        ("helium+hum-50", Setting(over=10, formants=1.3, hum=50)),
        ("helium+fan", Setting(over=3, formants=1.3, noise="fan")),
        ("fan+helium", Setting(over=10, formants=1.3, noise="fan")),
        ("clean+mask", SETTINGS["mask"]),
    ],
)
def test_settings_add_up_and_the_last_one_counts(names: str, expected: Setting) -> None:
    assert setting_of(names) == expected


@pytest.mark.parametrize("names", ["", "helum", "helium+", "helium,fan"])
def test_an_unknown_setting_is_refused_with_the_known_ones(names: str) -> None:
    with pytest.raises(InputError, match="unknown; name some of clean, compressor"):
        setting_of(names)


def test_no_two_settings_are_the_same() -> None:
    assert len(set(SETTINGS.values())) == len(SETTINGS)

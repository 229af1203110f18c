import pytest

from voxlog.profile.pressure import SEA_LEVEL_PA, Pressure


def test_sea_level_is_760_mmhg_and_14_696_psi_and_one_atmosphere() -> None:
    """ISO 2533; scipp.ucsc.edu lists 14.696 lb/in2, 29.921 inHg."""
    sea_level = Pressure(SEA_LEVEL_PA)
    assert sea_level.hpa == 1013.25
    assert sea_level.mmhg == pytest.approx(760, abs=2e-4)
    assert sea_level.psi == pytest.approx(14.696, abs=6e-5)
    assert sea_level.atmospheres == 1


def test_a_psi_is_51_7149_mmhg() -> None:
    assert Pressure(51.7149 * 133.322387415).psi == pytest.approx(1, abs=2e-6)

import pytest

from voxlog.profile.consciousness import PUBLISHED, published_near


@pytest.mark.parametrize(
    ("altitude", "after", "expected"),
    [
        # Exactly on a row.
        (25_000, False, [(25_000, 180, 300)]),
        (25_000, True, [(25_000, 90, 210)]),
        # Sources that disagree are both there.
        (22_000, False, [(22_000, 600, 600), (22_000, 300, 600)]),
        (28_000, False, [(28_000, 150, 180), (28_000, 180, 300)]),
        (40_000, False, [(40_000, 15, 20), (40_000, 9, 15)]),
        # Between two altitudes both are there, and nothing in between is made up.
        (32_000, True, [(30_000, 30, 60), (35_000, 15, 30)]),
        # Below and beyond what is published.
        (17_999, False, []),
        (8_000, True, []),
        (60_000, False, [(50_000, 9, 12)]),
    ],
)
def test_published_ranges(altitude: float, after: bool, expected: list[tuple[float, ...]]) -> None:
    rows = published_near(altitude, after_decompression=after)
    assert [(row.altitude_ft, row.low_s, row.high_s) for row in rows] == expected


def test_every_row_says_who_published_it() -> None:
    assert all(row.source for row in PUBLISHED)
    assert all(0 < row.low_s <= row.high_s for row in PUBLISHED)


def test_a_rapid_decompression_never_lengthens_a_time() -> None:
    usual = {r.altitude_ft: r for r in PUBLISHED if not r.after_decompression and "AC" in r.source}
    for row in PUBLISHED:
        if row.after_decompression:
            other = usual[row.altitude_ft]
            assert row.low_s <= other.low_s
            assert row.high_s <= other.high_s

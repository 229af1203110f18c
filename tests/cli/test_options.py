"""Options are read as they are documented, and refused with a line that says how to write them."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from voxlog.cli.options import (
    MODEL,
    cache_folder,
    channels_in,
    default_out,
    parse_positions,
    parse_start,
    positions_of,
)
from voxlog.errors import InputError
from voxlog.sheet.load import read_site
from voxlog.sheet.site import Site
from voxlog.speech.model_files import DEFAULT_MODEL

KNOWN = {"conductor": "Conductor", "attendant": "Inside attendant"}


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("2026-11-25T09:30:00Z", datetime(2026, 11, 25, 9, 30, tzinfo=UTC)),
        ("2026-11-25 09:30:00.250+01:00", datetime(2026, 11, 25, 8, 30, 0, 250_000, tzinfo=UTC)),
        # RFC 3339, section 5.8: "1990-12-31T15:59:60-08:00" needs leap seconds; the one before.
        ("1990-12-31T15:59:59-08:00", datetime(1990, 12, 31, 23, 59, 59, tzinfo=UTC)),
    ],
)
def test_start_is_a_moment(text: str, start: datetime) -> None:
    assert parse_start(text) == start


@pytest.mark.parametrize("text", ["2026-11-25T09:30:00", "yesterday", "", "09:30Z", "2026-13-01Z"])
def test_what_names_no_moment_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"write it as 2026-11-25T09:30:00Z"):
        parse_start(text)


def test_positions_count_channels_from_one() -> None:
    found = parse_positions("2=attendant, 1 = conductor", KNOWN, channels=2)
    assert found == {0: "conductor", 1: "attendant"}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("conductor", "--map conductor: not CHANNEL=POSITION; write it as 1=conductor"),
        ("a=conductor", "--map a=conductor: not CHANNEL=POSITION; write it as 1=conductor"),
        (
            "1=pilot",
            "--map 1=pilot: the sheet has no position pilot; use one of conductor, attendant",
        ),
        ("3=conductor", "--map 3=conductor: the recording has channels 1 to 2; use those"),
        ("0=conductor", "--map 0=conductor: the recording has channels 1 to 2; use those"),
        ("1=conductor,1=attendant", "--map 1=attendant: channel 1 is named twice; name it once"),
    ],
)
def test_a_wrong_map_says_which_part(text: str, line: str) -> None:
    with pytest.raises(InputError) as error:
        parse_positions(text, KNOWN, channels=2)
    assert str(error.value) == line


SITE = read_site("voxlog-site: 1\nchannels: {1: conductor, 3: attendant}\n", "site.yaml")


@pytest.mark.parametrize(
    ("map_", "site", "positions", "channels"),
    [
        (None, None, {}, 1),
        ("1=attendant", None, {0: "attendant"}, 1),
        (None, SITE, {0: "conductor", 2: "attendant"}, 3),
        ("2=attendant", SITE, {1: "attendant"}, 2),  # what is typed counts
    ],
)
def test_positions_come_from_the_map_or_the_site_file(
    map_: str | None, site: Site | None, positions: dict[int, str], channels: int
) -> None:
    assert positions_of(map_, site, KNOWN, 4) == positions
    assert channels_in(map_, site) == channels


@pytest.mark.parametrize(
    ("known", "channels", "line"),
    [
        ({"conductor": "C"}, 3, "site.yaml:2:29: the sheet has no position attendant; use one of"),
        (KNOWN, 2, "site.yaml:2:29: channel 3, but the recording has 2; use another site file"),
    ],
)
def test_a_site_file_that_does_not_fit_says_where(
    known: dict[str, str], channels: int, line: str
) -> None:
    with pytest.raises(InputError) as error:
        positions_of(None, SITE, known, channels)
    assert str(error.value).startswith(line)


def test_the_folder_is_named_by_the_start_in_utc() -> None:
    start = datetime(2026, 11, 25, 0, 30, tzinfo=timezone(timedelta(hours=1)))
    assert default_out(start, "demo") == Path("runs/20261124T233000Z-demo")


def test_the_folder_is_named_by_the_clock_without_a_start() -> None:
    before = datetime.now(UTC).replace(microsecond=0)
    stamp = default_out(None, "demo").name.removesuffix("-demo")
    found = datetime.strptime(stamp, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    assert before <= found <= datetime.now(UTC)


@pytest.mark.parametrize(
    ("named", "xdg", "folder"),
    [
        ("/here", "/there", Path("/here")),
        # XDG Base Directory Specification: $XDG_CACHE_HOME, or $HOME/.cache if unset or empty.
        (None, "/there", Path("/there/voxlog")),
        (None, "", Path("/home/s-07/.cache/voxlog")),
        (None, None, Path("/home/s-07/.cache/voxlog")),
    ],
)
def test_the_cache_is_where_the_user_keeps_caches(
    named: str | None, xdg: str | None, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", "/home/s-07")
    for name, value in (("VOXLOG_CACHE", named), ("XDG_CACHE_HOME", xdg)):
        monkeypatch.delenv(name, raising=False)
        if value is not None:
            monkeypatch.setenv(name, value)
    assert cache_folder() == folder


def test_the_default_model_has_one_name() -> None:
    """Written twice, since what knows the models is slow to import and `--help` is not."""
    assert MODEL == DEFAULT_MODEL

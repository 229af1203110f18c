"""Who is let in, asked of the real server by raw requests; what a page of another origin, another
program and another machine's name could send."""

import json
import socket
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.review_page.made_up import make_run
from tests.review_page.server import Server, serving
from voxlog.review.review_log import REVIEW


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_run(tmp_path_factory.mktemp("access") / "run")


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[Server]:
    server = serving(folder, "C-12")
    server.enter()
    yield server
    server.end()


STANDS = json.dumps({"verdict": "stands", "row": 4}).encode()


def test_the_token_is_exchanged_for_a_cookie_once(run: Path, serve: Callable[..., Server]) -> None:
    fresh = serve(run)
    entered = fresh.enter()
    assert (entered.status, entered.headers["location"]) == (303, fresh.place)
    cookie, *attributes = (part.strip() for part in entered.headers["set-cookie"].split(";"))
    assert {each.lower() for each in attributes} == {
        "httponly",
        "samesite=strict",
        f"path={fresh.place}".lower(),
    }
    assert fresh.token not in cookie
    # used again, by somebody without the cookie: refused; by the same browser: let in
    again = f"{fresh.place}?token={fresh.token}"
    refused = fresh.ask(again, cookie=None)
    assert (refused.status, "set-cookie" in refused.headers) == (403, False)
    assert b"works once" in refused.body
    assert fresh.ask(again).status == 303


def test_of_many_who_come_at_once_with_the_token_one_is_let_in(
    run: Path, serve: Callable[..., Server]
) -> None:
    fresh = serve(run)
    with ThreadPoolExecutor(16) as pool:
        asked = pool.map(lambda _: fresh.ask(f"{fresh.place}?token={fresh.token}"), range(16))
    assert sorted(answer.status for answer in asked) == [303, *[403] * 15]


def test_a_wrong_token(run: Path, serve: Callable[..., Server]) -> None:
    fresh = serve(run)
    for token in ("", "x", "x" * 32, "%00", "%C3%A9", "%ff", "a" * 5000, fresh.token[:-1]):
        asked = fresh.ask(f"{fresh.place}?token={token}")
        assert (asked.status, "set-cookie" in asked.headers) == (403, False), token
    assert fresh.enter().status == 303  # and the right one is still good


@pytest.mark.parametrize(
    "cookie", [None, "voxlog=", "voxlog=wrong", "other=1", "voxlog", "é=;;,\x7f"]
)
@pytest.mark.parametrize("name", ["", "run", "decisions", "audio/0.wav", "assets/main.js"])
def test_without_the_cookie_there_is_nothing(server: Server, name: str, cookie: str | None) -> None:
    assert server.get(name, cookie=cookie).status == 403


def test_without_the_cookie_nothing_is_decided(server: Server, folder: Path) -> None:
    asked = server.ask(f"{server.place}decisions", "POST", STANDS, cookie=None)
    assert asked.status == 403
    assert not (folder / REVIEW).exists()


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": ""},
        {"origin": "http://127.0.0.1"},
        {"origin": "http://127.0.0.1:1"},
        {"origin": "https://127.0.0.1:{port}"},
        {"origin": "http://127.0.0.1:{port}.elsewhere.example"},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_origin(server: Server, folder: Path, method: str, headers: dict[str, str]) -> None:
    sent = {name: value.format(port=server.port) for name, value in headers.items()}
    body = STANDS if method == "POST" else None
    asked = server.ask(f"{server.place}decisions", method, body, **sent)
    assert asked.status == 403
    assert "access-control-allow-origin" not in asked.headers
    assert not (folder / REVIEW).exists()


def test_changing_something_needs_an_origin(server: Server, folder: Path) -> None:
    asked = server.ask(f"{server.place}decisions", "POST", STANDS, origin=None)
    assert asked.status == 403
    assert not (folder / REVIEW).exists()


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "elsewhere.example:{port}",
        "localhost:{port}",
        "127.0.0.1",
        "127.0.0.1:1",
        "[::1]:{port}",
        "",
        "127.0.0.1:{port}, elsewhere.example",
    ],
)
def test_another_host_which_dns_rebinding_gives(server: Server, host: str) -> None:
    for path in (server.place, f"{server.place}run", f"{server.place}?token={server.token}"):
        assert server.ask(path, host=host.format(port=server.port)).status == 421


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "HEAD", "PATCH", "TRACE"])
def test_other_methods(server: Server, method: str) -> None:
    assert server.ask(f"{server.place}run", method).status == 405


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/run",
        "/etc/passwd",
        "{place}../../../../etc/passwd",
        "{place}assets/../../../pyproject.toml",
        "{place}assets/..%2F..%2F__init__.py",
        "{place}assets/%2e%2e/app.py",
        "{place}assets//etc/passwd",
        "{place}assets/page.html",
        "{place}assets/..\\..\\app.py",
        "{place}audio/../run.json",
        "{place}audio/..%2frun.json",
        "{place}audio/-1.wav",
        "{place}audio/2.wav",
        "{place}audio/99999999999999999999.wav",
        "{place}audio/channel-1.flac",
        "{place}clip/0/0-99999999999999.wav/../x",
        "{place}clip/1/5-4.wav",
        "{place}clip/7/0-1000.wav",
        "{place}events.jsonl",
        "{place}run.json",
        "{place}review.jsonl",
    ],
)
def test_a_path_that_climbs_or_was_never_there(server: Server, path: str) -> None:
    asked = server.ask(path.format(place=server.place))
    assert asked.status == 404
    assert asked.body in (b"Nothing here.\n", b"Not Found")


def test_a_body_that_is_announced_too_large_is_refused_before_it_comes(
    server: Server, folder: Path
) -> None:
    """A gigabyte: the answer is there after the first bytes of it."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=30) as connection:
        head = request_head(server, "Content-Length: 1073741824")
        connection.sendall(head + b"x" * 1000)
        assert connection.recv(4096).startswith(b"HTTP/1.1 413 ")
        assert sent_until_closed(connection) < 32 << 20
    assert not (folder / REVIEW).exists()
    assert server.get("run").status == 200


def test_a_body_without_announced_length_is_cut_off(server: Server, folder: Path) -> None:
    with socket.create_connection(("127.0.0.1", server.port), timeout=30) as connection:
        connection.sendall(request_head(server, "Transfer-Encoding: chunked"))
        chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
        assert sent_until_closed(connection, chunk, 1 << 30) < 32 << 20
    assert not (folder / REVIEW).exists()
    assert server.get("run").status == 200


def request_head(server: Server, *lines: str) -> bytes:
    every = (
        f"POST {server.place}decisions HTTP/1.1",
        f"Host: {server.host}",
        f"Origin: {server.origin}",
        f"Cookie: {server.cookie}",
        "Content-Type: application/json",
        *lines,
    )
    return "".join(f"{line}\r\n" for line in (*every, "")).encode()


def sent_until_closed(
    connection: socket.socket, chunk: bytes = b"x" * 65536, most: int = 1 << 30
) -> int:
    """How many bytes the other side took before it closed."""
    sent = 0
    try:
        while sent < most:
            connection.sendall(chunk)
            sent += len(chunk)
    except (BrokenPipeError, ConnectionResetError):
        pass
    return sent


@pytest.mark.parametrize("path", ["", "run", "nothing", "assets/main.js", "clip/0/0-1000.wav"])
def test_every_answer_says_what_may_be_loaded(server: Server, path: str) -> None:
    for answer in (server.get(path), server.get(path, host="elsewhere.example")):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert not {"unsafe", "data:", "http", "*"} & set(policy.replace("-", " ").split())
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"
        assert "server" not in answer.headers


def test_only_this_machine_is_listened_to(server: Server) -> None:
    rows = Path("/proc/net/tcp").read_text().splitlines()[1:]
    local = [row.split()[1] for row in rows if row.split()[3] == "0A"]
    assert f"0100007F:{server.port:04X}" in local
    every = Path("/proc/net/tcp6").read_text().splitlines()[1:]
    assert not [row for row in every if row.split()[1].endswith(f":{server.port:04X}")]

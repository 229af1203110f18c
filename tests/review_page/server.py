"""`voxlog review` as a process, and requests to it with nothing between: the standard library."""

import http.client
import json
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit

ROOT = Path(__file__).parents[2]


class Answer(NamedTuple):
    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.body)


class Server:
    """address: as it was printed. place: the path that cannot be guessed, with its last slash."""

    def __init__(self, process: subprocess.Popen[str], address: str) -> None:
        self.process = process
        self.address = address
        parts = urlsplit(address)
        assert parts.port is not None
        self.port = parts.port
        self.place = parts.path
        self.token = parts.query.removeprefix("token=")
        self.host = f"127.0.0.1:{self.port}"
        self.origin = f"http://{self.host}"
        self.cookie = ""

    def ask(
        self, path: str, method: str = "GET", body: bytes | None = None, **headers: str | None
    ) -> Answer:
        """One request on a connection of its own; a header that is None is left out."""
        sent = {"Host": self.host, "Cookie": self.cookie or None}
        if method != "GET":
            sent |= {"Origin": self.origin, "Content-Type": "application/json"}
        sent |= {name.replace("_", "-").title(): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in sent.items():
            if value is not None:
                connection.putheader(name, value)
        if body is not None and "Content-Length" not in sent:
            connection.putheader("Content-Length", str(len(body)))
        connection.endheaders(body)
        response = connection.getresponse()
        answer = Answer(
            response.status,
            {name.lower(): value for name, value in response.getheaders()},
            response.read(),
        )
        connection.close()
        return answer

    def enter(self) -> Answer:
        """Exchange the token for the cookie."""
        answer = self.ask(f"{self.place}?token={self.token}")
        self.cookie = answer.headers["set-cookie"].split(";")[0]
        return answer

    def get(self, name: str, **headers: str | None) -> Answer:
        return self.ask(self.place + name, **headers)

    def decide(self, **sent: Any) -> Answer:
        return self.ask(f"{self.place}decisions", "POST", json.dumps(sent).encode())

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate(timeout=30)


def serving(folder: Path, reviewer: str) -> Server:
    process = subprocess.Popen(
        [sys.executable, "-m", "voxlog", "review", str(folder), "--as", reviewer],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    assert address.startswith("http://127.0.0.1:"), process.stderr.read() if process.stderr else ""
    return Server(process, address)

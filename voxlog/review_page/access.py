"""Who may talk to the review page: the browser that opened the printed address, and nobody else.

The server listens on the loopback interface only. That keeps other machines out, but not the other
pages in the reviewer's browser, nor other programs' servers on this machine. So

- `Host` must be the very address that was printed: a name that an attacker lets point to 127.0.0.1
  (DNS rebinding) is refused;
- `Origin`, where a browser sends one, must be our own, and must be sent to change anything;
  `Sec-Fetch-Site` must not say that another site asked;
- the token in the address works once. It is exchanged for a cookie that scripts cannot read
  (HttpOnly), that goes out on our own requests only (SameSite=Strict), and, since cookies do not
  know ports, only under a path that cannot be guessed: another server on 127.0.0.1 never gets it;
- a request may carry a small body and no more;
- every answer says what its page may load: our own files (Content-Security-Policy).
"""

import hmac
import secrets
import threading
from collections.abc import MutableMapping
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from typing import Any, NamedTuple
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["BODY_LIMIT", "HOST", "Guard", "Keys"]

HOST = "127.0.0.1"
BODY_LIMIT = 64 * 1024
"""Bytes of a request's body; a decision with the longest reason has about ten thousand."""
COOKIE = "voxlog"
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types 'none'"
)
_HEADERS = {
    "content-security-policy": _POLICY,
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "cache-control": "no-store",
}
_USED = (
    "This address was used already, and works once. Go back to the page that it opened, "
    "or end voxlog review with Ctrl-C and start it again for a new address."
)


class Keys:
    """The secrets of one run of the server. place: the path under which everything stands."""

    def __init__(self) -> None:
        self.place = f"/{secrets.token_urlsafe(9)}"
        self.token = secrets.token_urlsafe(24)
        self.session = secrets.token_urlsafe(32)
        self._lock = threading.Lock()
        self._is_used = False

    def use(self, token: str) -> bool:
        """Whether this is the token, for the first time."""
        with self._lock:
            is_right = _same(token, self.token) and not self._is_used
            self._is_used |= is_right
            return is_right


class _Refusal(NamedTuple):
    status: HTTPStatus
    text: str


class Guard:
    """Stands before the application (ASGI) and lets through what has a right to be there."""

    def __init__(self, app: ASGIApp, keys: Keys, port: int) -> None:
        self._app = app
        self._keys = keys
        self._host = f"{HOST}:{port}"
        self._origin = f"http://{self._host}"

    @property
    def address(self) -> str:
        """What to open in a browser; good for one use."""
        return f"{self._origin}{self._keys.place}/?token={self._keys.token}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        headers = Headers(scope=scope)
        answer = self._answer(scope, headers)
        if answer is not None:
            await answer(scope, receive, _with_headers(send))
            return
        body = _Body(receive)
        try:
            await self._app(scope, body, _with_headers(send))
        except _TooLargeError:
            await _refused(_too_large())(scope, receive, _with_headers(send))

    def _answer(self, scope: Scope, headers: Headers) -> Response | None:
        """Our own answer, or None to let the request through."""
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            return _refused(refusal)
        place = f"{self._keys.place}/"
        is_known = _has_cookie(headers, self._keys.session)
        asked = parse_qs(scope["query_string"].decode("latin-1")).get("token")
        if scope["path"] == place and asked:
            if not is_known and not (scope["method"] == "GET" and self._keys.use(asked[0])):
                return _refused(_Refusal(HTTPStatus.FORBIDDEN, _USED))
            return self._welcome(place)
        if not is_known:
            text = "Not allowed. Open the address that voxlog review printed."
            return _refused(_Refusal(HTTPStatus.FORBIDDEN, text))
        return None

    def _refusal(self, scope: Scope, headers: Headers) -> _Refusal | None:
        if headers.getlist("host") != [self._host]:
            return _Refusal(HTTPStatus.MISDIRECTED_REQUEST, "Not the address of this page.")
        origin = headers.get("origin")
        needs_origin = scope["method"] != "GET"
        if (origin is not None or needs_origin) and origin != self._origin:
            return _Refusal(HTTPStatus.FORBIDDEN, "Not asked by this page.")
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return _Refusal(HTTPStatus.FORBIDDEN, "Not asked by this page.")
        if scope["method"] not in ("GET", "POST"):
            return _Refusal(HTTPStatus.METHOD_NOT_ALLOWED, "Not a method of this page.")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > BODY_LIMIT:
            return _too_large()
        if not scope["path"].startswith(f"{self._keys.place}/"):
            return _Refusal(HTTPStatus.NOT_FOUND, "Nothing here.")
        return None

    def _welcome(self, place: str) -> Response:
        answer = RedirectResponse(place, HTTPStatus.SEE_OTHER)
        answer.set_cookie(COOKIE, self._keys.session, path=place, httponly=True, samesite="strict")
        return answer


class _TooLargeError(Exception):
    """A body without an announced length went over the limit."""


class _Body:
    """Counts what comes in, for a body whose length was not announced."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._size = 0

    async def __call__(self) -> Message:
        message = await self._receive()
        self._size += len(message.get("body", b""))
        if self._size > BODY_LIMIT:
            raise _TooLargeError
        return message


def _too_large() -> _Refusal:
    return _Refusal(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "More than this page ever sends.")


def _refused(refusal: _Refusal) -> Response:
    # The connection ends, for whatever else is on its way is not wanted either.
    return PlainTextResponse(f"{refusal.text}\n", refusal.status, {"connection": "close"})


def _has_cookie(headers: Headers, session: str) -> bool:
    try:
        cookie = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return False
    return cookie is not None and _same(cookie.value, session)


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode())


def _with_headers(send: Send) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
        await send(message)

    return sent

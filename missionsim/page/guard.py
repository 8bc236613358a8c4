"""Lets in only the browser that was given the address: every request passes here first."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from secrets import compare_digest
from typing import Any
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

KEY = "key"
"""Name of the token in the address that opens the page."""
POLICY = ("default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
          "form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
HEADERS = ((b"content-security-policy", POLICY.encode()), (b"referrer-policy", b"no-referrer"),
           (b"x-content-type-options", b"nosniff"), (b"cross-origin-opener-policy", b"same-origin"),
           (b"cross-origin-resource-policy", b"same-origin"), (b"cache-control", b"no-store"))
WRITES = frozenset({"POST", "PUT", "DELETE", "PATCH"})


class Guard:
    """An ASGI layer around the page: token, Host, Origin, and the headers of every answer.

    Any program of this machine can ask a local port, and any site open in the browser can try to; a port is no lock.

    Parameters
    ----------
    app : ASGI application
    token : str   Unguessable; once in the address, then in a cookie whose name holds the port, since cookies ignore
                  ports and two open studies would log each other out.
    port : int    Where the page is served.
    """

    def __init__(self, app: App, token: str, port: int) -> None:
        self.app, self.token = app, token.encode()
        self.cookie = f"missionsim-{port}"
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or hand it on."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await self._http(scope, receive, send)

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        given = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        if given.get("host") not in self.hosts:
            await _answer(send, 421, "Not served under this name.")
        elif not self._same_origin(given, scope["method"]):
            await _answer(send, 403, "Asked from another page.")
        elif self._fits(parse_qs(scope["query_string"].decode("latin-1")).get(KEY, [""])[0]):
            cookie = f"{self.cookie}={self.token.decode()}; Path=/; HttpOnly; SameSite=Strict"
            await _answer(send, 303, "", [(b"location", b"/"), (b"set-cookie", cookie.encode())])
        elif not self._fits(_cookie(given.get("cookie", ""), self.cookie)):
            await _answer(send, 403, "Open the address that missionsim printed when it started.")
        else:
            await self.app(scope, receive, _with_headers(send))

    def _same_origin(self, given: MutableMapping[str, str], method: str) -> bool:
        if given.get("sec-fetch-site", "none") not in {"same-origin", "none"}:
            return False
        origin = given.get("origin")
        return method not in WRITES if origin is None else origin == f"http://{given['host']}"

    def _fits(self, token: str) -> bool:
        return compare_digest(token.encode("utf-8", "surrogatepass"), self.token)


def _cookie(header: str, name: str) -> str:
    try:
        found = SimpleCookie(header).get(name)
    except CookieError:
        return ""
    return found.value if found else ""


def _with_headers(send: Send) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *HEADERS]
        await send(message)
    return sent


async def _answer(send: Send, status: int, text: str, headers: Iterable[tuple[bytes, bytes]] = ()) -> None:
    kind = (b"content-type", b"text/plain; charset=utf-8")
    await send({"type": "http.response.start", "status": status, "headers": [kind, *headers, *HEADERS]})
    await send({"type": "http.response.body", "body": text.encode()})

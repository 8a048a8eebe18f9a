"""Who may ask: a page that this run wrote, on this machine, with the word of this run in its address.

The server is bound to the loopback address. Any page in any browser of this machine can send it requests all the same, and any
name can be made to lead to it: so the word, the host that was asked for and the origin of the page are looked at for every request
(RFC 6454 for origins; that a name may come to lead elsewhere is common knowledge).
"""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

HOST = "127.0.0.1"
LARGEST = 4 * 2**20  # bytes of a request

_HEADERS = (
    (b"cache-control", b"no-store"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


def word() -> str:
    """A word that nobody guesses."""
    return secrets.token_urlsafe(24)


class Guard:
    """Lets through what may ask, and gives every answer the headers that keep it from others."""

    def __init__(self, app: ASGIApp, *, token: str, port: int) -> None:
        """`token` is the first part of every path, `port` that of this server."""
        self.app, self.token = app, token
        self.hosts = {f"{name}:{port}" for name in (HOST, "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        why = self._refused(scope["method"], scope["path"], headers)
        if why is not None:
            await _answer(send, *why)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message["headers"], *_HEADERS]}
            await send(message)

        await self.app({**scope, "path": scope["path"][len(self.token) + 1 :] or "/"}, _bounded(receive), guarded)

    def _refused(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        if headers.get("host", "") not in self.hosts:
            return 421, "This is not the address that seamcheck showed."
        first = path[1:].partition("/")[0]
        if not secrets.compare_digest(first.encode(), self.token.encode()):
            return (
                404,
                "Open the address that seamcheck shows in the terminal: its last part is the key to this pattern.",
            )
        if method not in ("GET", "HEAD", "POST"):
            return 405, "This cannot be asked."
        origin = headers.get("origin")
        own = {f"http://{host}" for host in self.hosts}
        if (origin is None and method == "POST") or (origin is not None and origin not in own):
            return 403, "Only the page of this run may ask."
        if method == "POST" and headers.get("content-type", "").partition(";")[0].strip() != "application/json":
            return 415, "This cannot be asked in this form."
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > LARGEST:
            return 413, "This is more than a plan can be."
        return None


def _bounded(receive: Receive) -> Receive:
    """What is received, until it is more than a plan can be: then the one who sends it has gone."""
    read = 0

    async def bounded() -> Message:
        nonlocal read
        message = await receive()
        read += len(message.get("body", b""))
        return {"type": "http.disconnect"} if read > LARGEST else message

    return bounded


async def _answer(send: Send, status: int, words: str) -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *_HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": words.encode()})

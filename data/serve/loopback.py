"""Let only pages of this machine talk to the server, and let them talk to nobody else.

A site that is open in the same browser can send requests here, or make its own name point here.
The page library serves plain requests under any name, and before it refuses a foreign page's
socket it asks the network for this machine's address; this door turns both away earlier.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]

OWN_HOST = re.compile(rb"(localhost|127\.0\.0\.1)(:[0-9]{1,5})?")
POLICY = (
    b"default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; "
    b"connect-src 'self' ws://localhost:* ws://127.0.0.1:* data: blob:; "
    b"object-src 'none'; base-uri 'self'; form-action 'none'; frame-ancestors 'self'"
)
"""What a page may load and who may frame it; the page library's own script needs the inline
and evaluated parts."""
HEADERS = [
    (b"content-security-policy", POLICY),
    (b"referrer-policy", b"no-referrer"),
    (b"x-content-type-options", b"nosniff"),
]


def is_from_this_machine(host: bytes, origin: bytes | None) -> bool:
    """Tell whether a request names this machine and, if a page sent it, that page is its own."""
    return OWN_HOST.fullmatch(host) is not None and origin in (None, b"http://" + host)


class OnlyThisMachine:
    """A server application that passes on what `is_from_this_machine` allows, and refuses the rest.

    ``app`` is the application behind it, in the usual asynchronous form (scope, receive, send).
    """

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer one connection."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = dict(scope["headers"])
        if is_from_this_machine(headers.get(b"host", b""), headers.get(b"origin")):
            await self.app(scope, receive, _with_headers(send))
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            plain = (b"content-type", b"text/plain; charset=utf-8")
            await send({"type": "http.response.start", "status": 403, "headers": [plain]})
            await send({"type": "http.response.body", "body": b"Only for pages of this machine.\n"})


def _with_headers(send: Send) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", []), *HEADERS]}
        await send(message)

    return send_with_headers

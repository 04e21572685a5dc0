"""Who may ask and who may change anything: in front of every route, so that no route can forget it.

* The request must name this machine as its host: a name that an attacker's DNS points here is refused.
* What changes something must come from a page of this program: `Sec-Fetch-Site` or `Origin` say so (Fetch standard,
  section 3.2, and Fetch Metadata). The token of `passagework.web.tokens` is asked for besides.
* Bodies are counted as they come in.
* Every answer carries a policy by which a browser loads nothing from elsewhere and runs no script that is not a file of ours.
"""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from typing import Any, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from passagework.web.settings import Settings

SAFE_METHODS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing (RFC 9110, section 9.2.1)."""

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

HEADERS: Final = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "permissions-policy": "microphone=(self), midi=(self), camera=(), geolocation=(), payment=(), usb=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    # Pages about children are not left in a browser's store; routes that want it say otherwise.
    "cache-control": "no-store",
}


class Guard:
    """The doorkeeper, as an ASGI application around another."""

    def __init__(
        self, app: ASGIApp, settings: Settings, fault: Callable[[Request, Exception], Response]
    ) -> None:
        self._app = app
        self._settings = settings
        self._fault = fault

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or say why not."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope["method"], headers)
        guarded_send = _with_headers(send)
        if refusal:
            await PlainTextResponse(refusal, 403)(scope, receive, guarded_send)
            return
        most = self._settings.largest_body(scope["path"])
        begun = False

        async def noting(message: MutableMapping[str, Any]) -> None:
            nonlocal begun
            begun = True
            await guarded_send(message)

        try:
            await self._app(scope, _counted(receive, headers, most), noting)
        except Exception as error:
            if begun:
                raise
            # Answered here and not further out, so that this answer too carries the policy.
            await self._fault(Request(scope), error)(scope, receive, guarded_send)

    def _refusal(self, method: str, headers: Headers) -> str:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._settings.hosts:
            return "This page is only for the machine it runs on.\n"
        if method not in SAFE_METHODS and not self._from_here(headers):
            return "Only a page of Passagework itself may change anything.\n"
        return ""

    def _from_here(self, headers: Headers) -> bool:
        site = headers.get("sec-fetch-site")
        origin = headers.get("origin")
        own = origin is not None and origin.removeprefix("http://") in self._settings.hosts
        if site is None:
            return own
        # With the policy "no-referrer" a browser sends the origin of a form as "null".
        return site == "same-origin" and (own or origin in {None, "null"})


def too_large(most: int) -> HTTPException:
    """The answer to a body of more than `most` bytes."""
    size = f"{most / 1_000_000:g} MB"
    return HTTPException(413, f"That is too large: at most {size} at once are taken here.")


def _counted(receive: Receive, headers: Headers, most: int) -> Receive:
    """`receive`, which ends with an error once there are more than `most` bytes."""
    declared = headers.get("content-length", "")
    announced = int(declared) if declared.isascii() and declared.isdigit() else 0
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        if announced > most:
            raise too_large(most)
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise too_large(most)
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def guarded(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return guarded

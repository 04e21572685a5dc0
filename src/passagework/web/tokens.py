"""Tokens: a form is taken only from somebody to whom this program has given it.

The browser holds a random cookie that no script can read and no other site can send (`SameSite=Strict`); a form holds the
cookie's signature. Who cannot read our pages has none ("signed double-submit cookie", OWASP CSRF Prevention Cheat Sheet).
"""

from __future__ import annotations

import hmac
import re
import secrets
from typing import Final

from fastapi import HTTPException, Request
from starlette.responses import Response

from passagework.web.safety import SAFE_METHODS
from passagework.web.settings import Settings

COOKIE: Final = "passagework"
FIELD: Final = "token"
HEADER: Final = "x-token"
STALE: Final = "This page was opened too long ago. Go back, load it again, and send it once more."
_COOKIE_SHAPE: Final = re.compile(r"[0-9a-f]{32}")


def cookie_of(request: Request) -> str:
    """The browser's cookie, or a fresh one for it; the same for one request however often it is asked."""
    known: str | None = getattr(request.state, "cookie", None)
    if known is None:
        sent = request.cookies.get(COOKIE, "")
        known = sent if _COOKIE_SHAPE.fullmatch(sent) else secrets.token_hex(16)
        request.state.cookie = known
    return known


def token_of(request: Request) -> str:
    """What a form of this browser must hold."""
    settings: Settings = request.app.state.settings
    return hmac.new(settings.secret, cookie_of(request).encode(), "sha256").hexdigest()


def give_cookie(request: Request, response: Response) -> None:
    """Give the browser its cookie, where it has none yet."""
    if request.cookies.get(COOKIE) != cookie_of(request):
        response.set_cookie(COOKIE, cookie_of(request), httponly=True, samesite="strict", path="/")


async def check_token(request: Request) -> None:
    """Refuse what would change something and does not bring the token. Raises `HTTPException` 403."""
    if request.method in SAFE_METHODS:
        return
    sent = request.headers.get(HEADER)
    if sent is None:
        form = await request.form()
        value = form.get(FIELD)
        sent = value if isinstance(value, str) else ""
    if not hmac.compare_digest(sent.encode("utf-8", "replace"), token_of(request).encode()):
        raise HTTPException(403, STALE)

"""Whatever goes wrong is one clear line: a page for people, JSON for scripts."""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.responses import Response

from passagework.engraving.errors import EngravingError
from passagework.score.errors import ScoreError
from passagework.sound.errors import SoundError
from passagework.studio.errors import ConflictError, NotFoundError, StudioError
from passagework.web.jobs import UnknownJobError
from passagework.web.pages import page

LOG: Final = logging.getLogger("passagework.web")
NOT_HERE: Final = "There is no such page. It may have been deleted, or the address is mistyped."
OWN_FAULT: Final = "A fault of the program, not of yours. Nothing that was kept is lost."


def answer(request: Request, status: int, words: str) -> Response:
    """Say `words` in the way that was asked for."""
    if "text/html" in request.headers.get("accept", ""):
        return page(request, "error.html", {"words": words, "status": status}, status=status)
    return JSONResponse({"error": words}, status)


def add_error_pages(app: FastAPI) -> None:
    """Let `app` answer every error with one line."""

    def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        words = str(error.detail)
        if words == HTTPStatus(error.status_code).phrase:
            words = NOT_HERE if error.status_code == 404 else f"{words}."
        response = answer(request, error.status_code, words)
        response.headers.update(error.headers or {})
        return response

    def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        return answer(request, 422, _which_field(error))

    def unreadable(request: Request, error: Exception) -> Response:
        return answer(request, 422, f"{error}".strip() or "That cannot be read.")

    def refused(request: Request, error: Exception) -> Response:
        status = (
            404
            if isinstance(error, NotFoundError)
            else 409
            if isinstance(error, ConflictError)
            else 422
        )
        words = str(error)
        return answer(
            request, status, f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}"
        )

    def unknown(request: Request, error: Exception) -> Response:
        return answer(request, 404, str(error))

    def not_text(request: Request, _error: Exception) -> Response:
        return answer(request, 422, "That is not text that can be kept.")

    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(UnknownJobError, unknown)
    app.add_exception_handler(UnicodeEncodeError, not_text)
    app.add_exception_handler(StudioError, refused)
    for clear in (ScoreError, EngravingError, SoundError):
        app.add_exception_handler(clear, unreadable)


def fault(request: Request, error: Exception) -> Response:
    """The answer to an error that nobody expected; what it was goes to the log."""
    LOG.error("%s %s", request.method, request.url.path, exc_info=error)
    return answer(request, 500, OWN_FAULT)


def _which_field(error: RequestValidationError) -> str:
    """Which field, and what is wrong with it, of the first that is wrong."""
    first = error.errors()[0]
    names = [str(part) for part in first.get("loc", ()) if part not in {"body", "query", "path"}]
    name = " ".join(names).replace("_", " ") or "what was sent"
    return f"{name[:1].upper()}{name[1:]}: {first.get('msg', 'cannot be used')}."

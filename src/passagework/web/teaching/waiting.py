"""A page that has to wait for the workers: what is being done, and on to the page when it is."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Request
from starlette.responses import Response

from passagework.web.jobs import Job
from passagework.web.pages import page


def waiting_page(request: Request, jobs: Sequence[Job], title: str, then: str) -> Response:
    """Show `jobs` until the last is done, then go on to `then`."""
    return page(request, "teaching/waiting.html", {"jobs": jobs, "title": title, "then": then})

"""Templates and what every page knows."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from fastapi import Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from passagework.web import words
from passagework.web.forms import WEEKDAYS
from passagework.web.notices import QUERY, Notices
from passagework.web.tokens import FIELD, give_cookie, token_of

if TYPE_CHECKING:
    from jinja2 import Environment
    from jinja2.runtime import Context

ROOMS: Final = (
    ("/", "Today"),
    ("/students", "Students"),
    ("/library", "Library"),
    ("/keeping", "What is kept"),
)
"""The doors at the head of every page."""


@cache
def environment() -> Environment:
    """The templates. Rooms keep theirs in a folder of their own below `templates/`."""
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.PackageLoader("passagework.web", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=400,
    )
    made.globals["token_field"] = jinja2.pass_context(_token_field)
    made.globals.update(
        rooms=ROOMS,
        many=words.many,
        at_time=words.at_time,
        long_day=words.long_day,
        short_day=words.short_day,
        near_day=words.near_day,
        size=words.size,
        weekdays=words.weekdays,
        weekday_names=WEEKDAYS,
    )
    return made


def page(
    request: Request,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
) -> HTMLResponse:
    """A page made of `template`, which extends ``base.html``. `context` is what it names.

    Besides, every template knows `token` (for scripts that send something), `token_field()` (for forms), `path`, `room` (the
    door that is open), `notice`.
    """
    response = HTMLResponse(render(request, template, context or {}), status)
    give_cookie(request, response)
    return response


def render(request: Request, template: str, context: Mapping[str, Any]) -> str:
    """The text of a page, or of a part of one."""
    notices: Notices = request.app.state.notices
    path = request.url.path
    known = {
        "token": token_of(request),
        "path": path,
        "here": path + (f"?{request.url.query}" if request.url.query else ""),
        "room": _room(path),
        "notice": notices.get(request.query_params.get(QUERY, "")),
    }
    return environment().get_template(template).render({**known, **context})


def _room(path: str) -> str:
    """The door that `path` lies behind, empty for none."""
    if path == "/":
        return "/"
    doors = {
        "takes": "/students",
        "pieces": "/library",
        "assignments": "/students",
        "plans": "/students",
    }
    first = path.split("/")[1]
    return doors.get(first, f"/{first}")


def _token_field(context: Context) -> Markup:
    return Markup('<input type="hidden" name="{}" value="{}">').format(FIELD, context["token"])

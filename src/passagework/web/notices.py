"""What is said at the foot of the next page: "Hidden." with a way back."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Final
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from fastapi import Request
from fastapi.responses import RedirectResponse

KEPT: Final = 200
QUERY: Final = "notice"


@dataclass(frozen=True, slots=True)
class Notice:
    """A sentence, and what undoes it."""

    words: str
    undo: str = ""
    """The studio's token for undoing, empty where there is nothing to undo."""


class Notices:
    """Notices by a random name that goes into the address of the next page, so that no link can put words there."""

    def __init__(self) -> None:
        self._rows: OrderedDict[str, Notice] = OrderedDict()
        self._lock = threading.Lock()

    def put(self, notice: Notice) -> str:
        """Keep a notice; gives its name."""
        name = secrets.token_urlsafe(8)
        with self._lock:
            self._rows[name] = notice
            while len(self._rows) > KEPT:
                self._rows.popitem(last=False)
        return name

    def get(self, name: str) -> Notice | None:
        """The notice of this name, if it is still known."""
        with self._lock:
            return self._rows.get(name)

    def clear(self) -> None:
        """Forget all of them."""
        with self._lock:
            self._rows.clear()


def local_path(path: str, otherwise: str = "/") -> str:
    """`path` where it is one of this site's, with its query and fragment; `otherwise` where it leads elsewhere."""
    if not path.startswith("/") or path.startswith(("//", "/\\")) or not path.isprintable():
        return otherwise
    try:
        parts = urlsplit(path)
    except ValueError:
        return otherwise
    return otherwise if parts.scheme or parts.netloc or "\\" in path else path


def go_to(request: Request, path: str, words: str = "", undo: str = "") -> RedirectResponse:
    """Answer a form: go on to `path`, and say there what was done."""
    if words:
        notices: Notices = request.app.state.notices
        path = with_query(path, QUERY, notices.put(Notice(words, undo)))
    return RedirectResponse(path, 303)


def with_query(path: str, name: str, value: str) -> str:
    """`path` with one field of its query set."""
    parts = urlsplit(path)
    fields = [(n, v) for n, v in parse_qsl(parts.query, keep_blank_values=True) if n != name]
    return urlunsplit(parts._replace(query=urlencode([*fields, (name, value)])))

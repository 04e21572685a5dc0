"""A page to ask, as a browser would."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from passagework.web.settings import Settings

if TYPE_CHECKING:
    from starlette.testclient import TestClient

PORT = 8123
ORIGIN = f"http://127.0.0.1:{PORT}"


def browser_like(app: object) -> TestClient:
    """A client that keeps its cookie, names its origin and brings the token."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from starlette.testclient import TestClient

    client = TestClient(app, base_url=ORIGIN, follow_redirects=False)  # type: ignore[arg-type]
    client.headers.update({"origin": ORIGIN, "sec-fetch-site": "same-origin"})
    page = client.get("/static/nothing", headers={"accept": "text/html"}).text
    found = re.search(r'name="token" content="([0-9a-f]+)"', page)
    assert found
    client.headers["x-token"] = found[1]
    return client


@pytest.fixture
def settings() -> Settings:
    return Settings(PORT, workers=1)


@pytest.fixture
def bare(settings: Settings) -> Iterator[TestClient]:
    """The page without a studio: what needs none."""
    from passagework.web.app import create_app

    with browser_like(create_app(None, settings)) as client:
        yield client

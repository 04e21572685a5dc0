"""Who may ask, who may change anything, and what every answer carries."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from passagework.web.notices import local_path, with_query
from passagework.web.safety import HEADERS, POLICY
from passagework.web.settings import MEGABYTE, Settings
from tests.web.conftest import ORIGIN, PORT

if TYPE_CHECKING:
    from starlette.testclient import TestClient

HTML = {"accept": "text/html"}
CANCEL = "/jobs/none/cancel"


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        f"example.org:{PORT}",
        "127.0.0.1",
        "127.0.0.1:1",
        f"127.0.0.1:{PORT}.example.org",
        "",
    ],
)
def test_a_foreign_host_is_refused(bare: TestClient, host: str) -> None:
    answer = bare.get("/static/paper.css", headers={"host": host})
    assert answer.status_code == 403
    assert "font" not in answer.text


@pytest.mark.parametrize("host", [f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_this_machine_has_three_names(bare: TestClient, host: str) -> None:
    assert bare.get("/static/paper.css", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://example.org"},
        {"origin": f"https://127.0.0.1:{PORT}"},
        {"origin": "http://127.0.0.1:1"},
        {"origin": ORIGIN, "sec-fetch-site": "cross-site"},
        {"origin": ORIGIN, "sec-fetch-site": "same-site"},
        {"origin": "null", "sec-fetch-site": "cross-site"},
        {"origin": "https://example.org", "sec-fetch-site": "same-origin"},
        {"sec-fetch-site": "none"},
    ],
)
def test_a_foreign_origin_changes_nothing(bare: TestClient, headers: dict[str, str]) -> None:
    token = bare.headers["x-token"]
    del bare.headers["origin"], bare.headers["sec-fetch-site"]
    answer = bare.post(CANCEL, headers={**headers, "x-token": token})
    assert answer.status_code == 403
    assert answer.text.startswith("Only a page of Passagework")


@pytest.mark.parametrize(
    "headers", [{"origin": ORIGIN}, {"origin": "null", "sec-fetch-site": "same-origin"}]
)
def test_its_own_pages_may(bare: TestClient, headers: dict[str, str]) -> None:
    del bare.headers["origin"], bare.headers["sec-fetch-site"]
    assert bare.post(CANCEL, headers=headers).status_code == 404


def test_without_any_origin_nothing_changes(bare: TestClient) -> None:
    del bare.headers["origin"], bare.headers["sec-fetch-site"]
    assert bare.post(CANCEL).status_code == 403


@pytest.mark.parametrize("token", ["", "0" * 64, "ä"])
def test_a_wrong_token_changes_nothing(bare: TestClient, token: str) -> None:
    answer = bare.post(CANCEL, headers={"x-token": token.encode()})
    assert answer.status_code == 403
    assert "opened too long ago" in answer.json()["error"]


def test_the_token_may_come_in_the_form(bare: TestClient) -> None:
    token = bare.headers.pop("x-token")
    assert bare.post(CANCEL, data={"token": token}).status_code == 404
    assert bare.post(CANCEL, data={"token": "x"}).status_code == 403
    assert bare.post(CANCEL, files={"token": b"x"}).status_code == 403


def test_a_token_is_worth_nothing_with_another_cookie(bare: TestClient) -> None:
    bare.cookies.clear()
    bare.cookies.set("passagework", "0" * 32)
    assert bare.post(CANCEL).status_code == 403


def test_the_cookie_is_for_this_site_and_no_script(bare: TestClient) -> None:
    bare.cookies.clear()
    cookie = bare.get("/nowhere", headers=HTML).headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


@pytest.mark.parametrize("path", ["/nowhere", "/static/paper.css", "/jobs/none"])
def test_every_answer_carries_the_policy(bare: TestClient, path: str) -> None:
    headers = bare.get(path).headers
    for name in HEADERS:
        assert name in headers
    assert headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert "http" not in POLICY


def test_a_fault_is_one_line_and_carries_the_policy(bare: TestClient) -> None:
    # The page of a day asks for a studio, and here is none.
    answer = bare.get("/", headers=HTML)
    assert answer.status_code == 500
    assert "A fault of the program" in answer.text
    assert "AttributeError" not in answer.text
    assert answer.headers["content-security-policy"] == POLICY


def test_a_body_has_a_limit(bare: TestClient) -> None:
    form = {"token": bare.headers["x-token"], "back": "x" * MEGABYTE}
    answer = bare.post(CANCEL, data=form)
    assert answer.status_code == 413
    assert "at most 1 MB" in answer.json()["error"]


def test_a_body_of_unknown_length_is_counted(bare: TestClient) -> None:
    def pieces() -> object:
        for _ in range(12):
            yield b"x" * 100_000

    kind = {"content-type": "application/x-www-form-urlencoded"}
    del bare.headers["x-token"]
    answer = bare.post(CANCEL, content=pieces(), headers=kind)  # type: ignore[arg-type]
    assert answer.status_code == 413


def test_paths_that_take_files_say_how_much() -> None:
    settings = Settings(1)
    assert settings.largest_body("/students") == MEGABYTE
    assert settings.largest_body("/library/scores") == 400 * MEGABYTE
    assert settings.largest_body("/library/scores-of-old") == MEGABYTE


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/static//etc/passwd",
        "/static/a%00b",
        "/static/" + "a" * 5000,
    ],
)
def test_no_path_leads_out_of_the_static_folder(bare: TestClient, path: str) -> None:
    answer = bare.get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text


@pytest.mark.parametrize(
    "path",
    [
        "https://example.org",
        "//example.org",
        "/\\example.org",
        "javascript:alert(1)",
        "",
        "x",
        "/a\nb",
        "/\t/example.org",
        "//[",
        "/a\\b",
    ],
)
def test_no_form_leads_to_another_site(path: str) -> None:
    assert local_path(path, "/home") == "/home"


def test_a_path_of_this_site_is_kept() -> None:
    assert local_path("/pieces/3?student=2#bar-5") == "/pieces/3?student=2#bar-5"
    assert with_query("/a?x=1&notice=old#b", "notice", "n") == "/a?x=1&notice=n#b"


def test_errors_are_json_for_scripts_and_pages_for_people(bare: TestClient) -> None:
    assert bare.get("/nowhere").json()["error"].startswith("There is no such page")
    page = bare.get("/nowhere", headers=HTML)
    assert page.headers["content-type"].startswith("text/html")
    assert "There is no such page" in page.text

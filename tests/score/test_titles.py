"""The title of a piece, wherever the program put it, and nothing that is none."""

from __future__ import annotations

import pytest
from lxml import etree

from passagework.score.titles import read_titles


def titles(xml: str) -> tuple[str, str]:
    return read_titles(etree.fromstring(f"<score-partwise>{xml}</score-partwise>"))


def credit(words: str, size: int, kind: str = "") -> str:
    named = f"<credit-type>{kind}</credit-type>" if kind else ""
    return (
        f'<credit page="1">{named}<credit-words font-size="{size}">{words}</credit-words></credit>'
    )


def test_the_work_comes_before_the_credits() -> None:
    assert titles("<work><work-title>Lamplighter</work-title></work>" + credit("Other", 30)) == (
        "Lamplighter",
        "",
    )


def test_a_movement_is_added_to_its_work() -> None:
    xml = "<work><work-title>Suite</work-title></work><movement-title>Gigue</movement-title>"
    assert titles(xml)[0] == "Suite: Gigue"


def test_the_largest_words_of_the_first_page_are_a_title() -> None:
    assert titles(credit("for two hands", 10) + credit("The Ferry", 24))[0] == "The Ferry"


@pytest.mark.parametrize("words", ["Copyright 2009 X", "© X", "www.x.example", "12", "Seite 3"])
def test_what_stands_on_every_page_is_no_title(words: str) -> None:
    assert titles(credit(words, 30))[0] == ""


def test_the_composer_is_read_from_both_places() -> None:
    creator = '<identification><creator type="composer">O. Brandt</creator></identification>'
    assert titles(creator)[1] == "O. Brandt"
    assert titles(credit("L. Okafor", 12, "composer"))[1] == "L. Okafor"

"""Printed at notes: fingers, and words to be said aloud."""

from __future__ import annotations

from collections.abc import Mapping

from lxml import etree

from passagework.exercises.edit.printed import put
from passagework.exercises.edit.tuplets import notations_of
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import Pitch


def with_fingers(notation: Notation, fingers: Mapping[str, int]) -> Notation:
    """With the finger given at each of those heads, in place of what was printed there."""
    work = notation.copy()
    for note in work.notes():
        finger = fingers.get(note.get("id", ""))
        if finger is not None:
            print_finger(note, finger)
    return work


def with_words(notation: Notation, words: Mapping[str, str]) -> Notation:
    """With a word to be said aloud under each of those heads, and no other words sung.

    The words of several heads of one chord stand one under the other, as the heads do.
    """
    work = notation.copy()
    main: Element | None = None
    said: list[str] = []
    for note in work.notes():
        for lyric in note.findall("lyric"):
            note.remove(lyric)
        if note.find("chord") is None:
            main, said = note, []
        word = words.get(note.get("id", ""))
        if word and main is not None:
            said.insert(0, word)
            say_under(main, *dict.fromkeys(said))
    return work


_SIGNS = {0: "", 1: "\N{MUSIC SHARP SIGN}", -1: "\N{MUSIC FLAT SIGN}", 2: "\N{MULTIPLICATION SIGN}",
          -2: 2 * "\N{MUSIC FLAT SIGN}"}  # fmt: skip


def printed_name(pitch: Pitch) -> str:
    """A pitch's name as short as it is printed under a note: a letter and its sign."""
    return pitch.step + _SIGNS.get(pitch.alter, "")


def say_under(head: Element, *texts: str) -> None:
    """Print each text on a line of its own under a note in place of what was sung there."""
    for old in head.findall("lyric"):
        head.remove(old)
    for number, text in enumerate(texts, start=1):
        lyric = etree.Element("lyric", number=str(number), placement="below")
        etree.SubElement(lyric, "syllabic").text = "single"
        etree.SubElement(lyric, "text").text = text
        put(head, lyric)


def print_finger(head: Element, finger: int) -> None:
    """Print a finger at a note in place of those that stood there."""
    for notations in head.findall("notations"):
        for technical in notations.findall("technical"):
            for node in technical.findall("fingering"):
                technical.remove(node)
            if len(technical) == 0:
                notations.remove(technical)
    technical = etree.SubElement(notations_of(head), "technical")
    etree.SubElement(technical, "fingering").text = str(finger)

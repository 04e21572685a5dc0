"""Phrases worked out by hand: each row says what the words do, and in which direction."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.analysis.lexicon import LANGUAGES, key_of, lexicon
from passagework.analysis.terms import parse_terms
from passagework.analysis.terms_effects import Phrase

# phrase, language, (dimension, kind, direction) of every part
PHRASES = [
    ("meno f", "it", [("loudness", "step", -1)]),
    ("più f", "it", [("loudness", "step", 1)]),
    ("più p", "it", [("loudness", "step", -1)]),
    ("meno p", "it", [("loudness", "step", 1)]),
    ("più piano", "it", [("loudness", "step", -1)]),
    ("meno forte", "it", [("loudness", "step", -1)]),
    ("PIU FORTE", "it", [("loudness", "step", 1)]),
    ("poco più f", "it", [("loudness", "step", 1)]),
    ("sempre più f", "it", [("loudness", "change", 1)]),
    ("sempre più p", "it", [("loudness", "change", -1)]),
    ("sempre pp", "it", [("loudness", "state", -1)]),
    ("subito p", "it", [("loudness", "state", -1)]),
    ("p subito", "it", [("loudness", "state", -1)]),
    ("poco f", "it", [("loudness", "state", 1)]),
    ("p ma marcato", "it", [("loudness", "state", -1), ("touch", "manner", 0)]),
    ("sempre p e legato", "it", [("loudness", "state", -1), ("touch", "manner", 0)]),
    ("poco a poco cresc.", "it", [("loudness", "change", 1)]),
    ("cresc. poco a poco", "it", [("loudness", "change", 1)]),
    ("cre - scen - do", "it", [("loudness", "change", 1)]),
    ("dim.", "it", [("loudness", "change", -1)]),
    ("dim. al pp", "it", [("loudness", "change", -1)]),
    ("senza cresc.", "it", [("loudness", "keep", 0)]),
    ("senza rit.", "it", [("tempo", "keep", 0)]),
    ("dim. e rit.", "it", [("loudness", "change", -1), ("tempo", "change", -1)]),
    ("dim.e rit.", "it", [("loudness", "change", -1), ("tempo", "change", -1)]),
    ("cresc. e accel.", "it", [("loudness", "change", 1), ("tempo", "change", 1)]),
    ("calando", "it", [("loudness", "change", -1), ("tempo", "change", -1)]),
    ("allargando", "it", [("tempo", "change", -1), ("loudness", "change", 1)]),
    ("sf", "it", [("loudness", "accent", 0)]),
    ("mezza voce", "it", [("loudness", "state", -1)]),
    ("con tutta forza", "it", [("loudness", "state", 1)]),
    ("non troppo allegro", "it", [("tempo", "state", 1)]),
    ("Allegro ma non troppo", "it", [("tempo", "state", 1)]),
    ("Allegro ma non troppo, con brio", "it", [("tempo", "state", 1), ("character", "manner", 1)]),
    ("Allegro molto e con brio", "it", [("tempo", "state", 1), ("character", "manner", 1)]),
    ("Andante cantabile", "it", [("tempo", "state", -1), ("character", "manner", 0)]),
    ("Adagio", "it", [("tempo", "state", -1)]),
    ("molto meno mosso", "it", [("tempo", "step", -1)]),
    ("meno mosso", "it", [("tempo", "step", -1)]),
    ("Poco più mosso", "it", [("tempo", "step", 1)]),
    ("più lento", "it", [("tempo", "step", -1)]),
    ("meno lento", "it", [("tempo", "step", 1)]),
    ("meno allegro", "it", [("tempo", "step", -1)]),
    ("più animato", "it", [("tempo", "step", 1)]),
    ("sempre più mosso", "it", [("tempo", "change", 1)]),
    ("animando", "it", [("tempo", "change", 1)]),
    ("poco rit.", "it", [("tempo", "change", -1)]),
    ("molto rall.", "it", [("tempo", "change", -1)]),
    ("riten.", "it", [("tempo", "step", -1)]),
    ("a tempo", "it", [("tempo", "restore", 0)]),
    ("Tempo I", "it", [("tempo", "restore", 0)]),
    ("Tempo I°", "it", [("tempo", "restore", 0)]),
    ("l'istesso tempo", "it", [("tempo", "keep", 0)]),
    ("L’istesso tempo", "it", [("tempo", "keep", 0)]),
    ("doppio movimento", "it", [("tempo", "scale", 0)]),
    ("ad lib.", "it", [("tempo", "free", 0)]),
    ("con pedale", "it", [("pedal", "manner", 0)]),
    ("senza pedale", "it", [("pedal", "manner", 0)]),
    ("u.c.", "it", [("pedal", "manner", 0)]),
    ("t. c.", "it", [("pedal", "manner", 0)]),
    ("m.d.", "it", [("technique", "manner", 0)]),
    ("m.s.", "it", [("technique", "manner", 0)]),
    ("non legato", "it", [("touch", "manner", 0)]),
    ("senza espressione", "it", [("character", "manner", 0)]),
    ("dolcissimo", "it", [("character", "manner", 0)]),
    ("appassionatissima", "it", [("character", "manner", 1)]),
    ("il più presto possibile", "it", [("tempo", "state", 1)]),
    ("etwas langsamer", "de", [("tempo", "step", -1)]),
    ("nicht schnell", "de", [("tempo", "state", -1)]),
    ("noch schneller", "de", [("tempo", "step", 1)]),
    ("immer langsamer", "de", [("tempo", "change", -1)]),
    ("immer leiser", "de", [("loudness", "change", -1)]),
    ("immer leise", "de", [("loudness", "state", -1)]),
    ("weniger stark", "de", [("loudness", "step", -1)]),
    ("stärker", "de", [("loudness", "step", 1)]),
    ("Etwas bewegter", "de", [("tempo", "step", 1)]),
    ("Sehr innig und nicht zu rasch", "de", [("character", "manner", 0), ("tempo", "state", 1)]),
    ("So rasch wie möglich", "de", [("tempo", "state", 1)]),
    ("Im Tempo", "de", [("tempo", "restore", 0)]),
    ("Erstes Tempo", "de", [("tempo", "restore", 0)]),
    ("Nach und nach schneller", "de", [("tempo", "change", 1)]),
    ("In langsamer Bewegung", "de", [("tempo", "state", -1)]),
    ("ohne Pedal", "de", [("pedal", "manner", 0)]),
    ("Mäßig", "de", [("tempo", "state", 0)]),
    ("massig bewegt", "de", [("tempo", "state", 0)]),
    ("un peu moins vite", "fr", [("tempo", "step", -1)]),
    ("plus lent", "fr", [("tempo", "step", -1)]),
    ("très doux", "fr", [("loudness", "state", -1)]),
    ("moins fort", "fr", [("loudness", "step", -1)]),
    ("plus doux", "fr", [("loudness", "step", -1)]),
    ("de plus en plus lent", "fr", [("tempo", "change", -1)]),
    ("de moins en moins fort", "fr", [("loudness", "change", -1)]),
    ("en animant peu à peu", "fr", [("tempo", "change", 1)]),
    ("cedez", "fr", [("tempo", "change", -1)]),
    ("sans ralentir", "fr", [("tempo", "manner", 1)]),
    ("au Mouvt", "fr", [("tempo", "restore", 0)]),
    ("1er Mouvt", "fr", [("tempo", "restore", 0)]),
    ("m.g.", "fr", [("technique", "manner", 0)]),
    ("en dehors", "fr", [("loudness", "manner", 1)]),
    ("A little slower", "en", [("tempo", "step", -1)]),
    ("gradually slower", "en", [("tempo", "change", -1)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "language", "parts"), PHRASES, ids=[p[0] for p in PHRASES])
def test_what_a_phrase_does(text: str, language: str, parts: list[tuple[str, str, int]]) -> None:
    phrase = parse_terms(text, "fr" if text == "m.g." else None)
    assert phrase.language == language
    assert [(p.dimension, p.kind, p.direction) for p in phrase.parts] == parts
    assert phrase.unknown == ()


def test_degree_orders_the_size_of_a_change() -> None:
    sizes = [
        parse_terms(f"{word} rit.").parts[0].size for word in ("pochissimo", "poco", "", "molto")
    ]
    assert sizes == sorted(sizes)
    assert len(set(sizes)) == 4


def test_a_degree_word_moves_a_sign_the_right_way() -> None:
    levels = {t: parse_terms(t).parts[0].level for t in ("poco f", "f", "molto f", "poco p", "p", "molto p")}  # fmt: skip
    assert levels == {"poco f": 5.5, "f": 6.0, "molto f": 6.5, "poco p": 3.5, "p": 3.0, "molto p": 2.5}  # fmt: skip


@pytest.mark.parametrize("text", ["Nun danket alle Gott", "1. volta", "8va", "R.H.", "Ped."])
def test_no_speed_is_read_where_none_is_meant(text: str) -> None:
    assert parse_terms(text).of("tempo") == ()


def test_the_goal_of_a_change_is_no_sign_of_its_own() -> None:
    (part,) = parse_terms("dim. poco a poco al pp").parts
    assert (part.until, part.level, part.direction) == ("pp", 2.0, -1)
    assert "little by little" in part.meaning


def test_meanings_are_plain_english() -> None:
    said = {t: "; ".join(p.meaning for p in parse_terms(t).parts) for t in (
        "meno f", "poco più f", "molto meno mosso", "subito p", "sempre pp", "poco rit.", "un peu moins vite",
        "con molta espressione", "senza rit.", "Allegro ma non troppo",
            "più mosso ma non troppo",
    )}  # fmt: skip
    assert said == {
        "meno f": "softer than before",
        "poco più f": "a little louder than before",
        "molto meno mosso": "much slower than before",
        "subito p": "suddenly soft",
        "sempre pp": "very soft, all through",
        "poco rit.": "getting a little slower",
        "un peu moins vite": "a little slower than before (less fast)",
        "con molta espressione": "with much expression",
        "senza rit.": "without getting slower",
        "Allegro ma non troppo": "fast and bright, but not too much so",
        "più mosso ma non troppo": "a little faster than before",
    }


@pytest.mark.parametrize(
    ("text", "dimensions"),
    [
        ("meno", {("tempo", -1), ("loudness", -1)}),
        ("più", {("tempo", 1), ("loudness", 1)}),
        ("sostenuto", {("tempo", -1)}),
        ("con sordino", {("pedal", 0)}),
        ("più andante", {("tempo", -1)}),
        ("più tranquillo", {("tempo", -1)}),
        ("allargando", {("tempo", -1)}),
        ("ritenuto", {("tempo", -1)}),
    ],
)
def test_doubtful_terms_give_their_other_readings(text: str, dimensions: set[tuple[str, int]]) -> None:  # fmt: skip
    others = parse_terms(text).alternatives
    assert {(p.dimension, p.direction) for r in others for p in r.parts} == dimensions


def test_meno_after_a_tempo_is_slower() -> None:
    parts = parse_terms("a tempo, ma poco meno").parts
    assert [(p.dimension, p.direction) for p in parts] == [("tempo", 0), ("tempo", -1)]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("♩ = 80", "metronome"),
        ("(♩. = ca. 80)", "metronome"),
        ("M.M.", "metronome"),
        ("D.C. al Fine", "jump"),
        ("Fine", "jump"),
        ("12", "number"),
        (".7", "number"),
        ("II", "heading"),
        ("Trio", "heading"),
        ("Minore I", "heading"),
        ("Var. 3", "heading"),
        ("SONATE in F", "heading"),
        ("B", "heading"),
        ("F", "heading"),
        ("Am", "chord"),
        ("F#m7", "chord"),
        ("Bb/D", "chord"),
        ("C  G7  Am", "chord"),
        ("m. 12", "number"),
        ("bars 5-8", "number"),
        ("Fingering by A. Nobody", "credit"),
        ("Op. 18 (1839)", "credit"),
        ("\ue261", "sign"),
        ("Over the hill the sheep go home", "other words"),
    ],
)
def test_text_that_is_no_term_is_told_apart(text: str, kind: str) -> None:
    phrase = parse_terms(text)
    assert phrase.parts == ()
    assert phrase.unknown == ()
    assert kind in {a.kind for a in phrase.apart}


def test_a_term_beside_a_metronome_mark_is_still_read() -> None:
    for text in ("Allegro (♩ = 120)", "Allegro M.M. ♩=120", "Allegro q = 120"):
        phrase = parse_terms(text)
        assert [p.dimension for p in phrase.parts] == ["tempo"]
        assert phrase.unknown == ()


def test_letters_of_the_music_font_are_signs() -> None:
    assert parse_terms("\ue522\ue522").parts[0].level == 7.0
    assert parse_terms("\ue520 cresc.").parts[0].level == 3.0


@pytest.mark.parametrize(
    ("text", "word", "name"),
    [
        ("accelarando", "accelarando", "accelerando"),
        ("alegro", "alegro", "allegro"),
        ("dimineundo", "dimineundo", "diminuendo"),
        ("espresivo", "espresivo", "espressivo"),
    ],
)
def test_a_misspelled_term_is_unknown_and_only_offered(text: str, word: str, name: str) -> None:
    phrase = parse_terms(text)
    assert phrase.parts == ()
    assert phrase.unknown == (word,)
    assert (word, name) in {(s.word, s.name) for s in phrase.suggestions}


def test_an_unknown_word_does_not_hide_the_known_one() -> None:
    phrase = parse_terms("Allegro grzmb")
    assert [p.dimension for p in phrase.parts] == ["tempo"]
    assert phrase.unknown == ("grzmb",)


def test_a_hint_settles_what_two_languages_spell_alike() -> None:
    assert parse_terms("lent").language == "fr"
    assert parse_terms("p", "de").parts[0].level == 3.0


def test_the_lexicon_is_large_and_quick() -> None:
    book = lexicon()
    entries = {
        (language, entry.name)
        for language in LANGUAGES
        for key in book.lines
        if (entry := book.entry(key, language)) is not None
    }
    assert len(entries) >= 700
    assert {language for language, _ in entries} == set(LANGUAGES)
    best = 9.0
    for _ in range(5):
        lexicon.cache_clear()
        start = time.process_time()
        lexicon()
        best = min(best, time.process_time() - start)
    assert best < 0.02


def test_every_entry_is_understood_as_itself() -> None:
    book = lexicon()
    for key, languages in book.lines.items():
        for language in languages:
            entry = book.entry(key, language)
            assert entry is not None
            assert entry.meaning
            assert entry.readings
            for reading in entry.readings:
                for atom in reading:
                    assert atom.verb in KNOWN_VERBS, (entry.name, atom.verb)
                    if atom.verb in {"beat", "dance"}:
                        assert 20 <= atom.values[0] < atom.values[1] <= 240


KNOWN_VERBS = {
    "raise", "lower", "plain", "level", "growing", "fading", "louder", "softer", "accent", "beat", "quickening", "slowing", "brisk",
    "calm", "heldback", "quicker", "atempo", "tempo1", "same", "times", "free", "dance", "smooth", "detached",
    "held", "light", "heavy", "down", "up", "soft", "softoff", "lively", "character", "technique",
}  # fmt: skip


@given(st.text(max_size=40))
def test_any_text_is_read_without_harm(text: str) -> None:
    phrase = parse_terms(text)
    assert isinstance(phrase, Phrase)
    for part in phrase.parts:
        assert part.direction in {-1, 0, 1}
        assert part.meaning


@given(
    st.sampled_from(["p", "f", "pp", "ff", "mf", "allegro", "lento", "mosso", "presto", "adagio"]),
    st.sampled_from(["", "poco ", "molto ", "un poco ", "ancora "]),
)
def test_meno_is_the_contrary_of_piu(term: str, degree: str) -> None:
    more = parse_terms(f"{degree}più {term}").parts[0]
    less = parse_terms(f"{degree}meno {term}").parts[0]
    assert more.direction == -less.direction != 0
    assert more.size == less.size


@given(st.sampled_from(sorted(lexicon().lines)))
def test_case_and_accents_do_not_matter(key: str) -> None:
    assert key_of(key.upper()) == key_of(key)
    assert [p.verb for p in parse_terms(key.upper()).parts] == [p.verb for p in parse_terms(key).parts]  # fmt: skip

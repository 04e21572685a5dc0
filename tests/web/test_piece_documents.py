"""The documents of a piece: what comes back from the cache is what was worked out."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from passagework.engraving.layered import LayeredSystem
from passagework.engraving.marks import Ring, Word
from passagework.hands.hand import Hand, Hands
from passagework.score import Reading
from passagework.spots.context import Context
from passagework.spots.find import find_spots
from passagework.teaching.edits import OwnNote, index_of, lay_over
from passagework.web.piece import sound_work, work
from passagework.web.piece.drawing import PREFIX, draw_sheet, layered_from_json, layered_to_json
from passagework.web.piece.fingers_document import Fingers
from passagework.web.piece.hold import prepared, prepared_with, smaller
from passagework.web.piece.how_sure import FAIRLY, SURE, how_sure
from passagework.web.piece.layers import LAYERS, layers_of, shortened
from passagework.web.piece.places_document import Places
from passagework.web.piece.score_document import Score
from passagework.web.piece.spot_json import spot_from_json, spot_to_json
from tests.conftest import DEMO, real_scores

SAMPLE = ["evening-ferry", "lamplighter"]
REAL = [p for p in real_scores() if p.stem in {"bach-prelude-846", "chopin-etude-25-1"}]
PATHS = [DEMO / f"{name}.musicxml" for name in SAMPLE] + REAL


def quiet(_share: float | None, _words: str = "") -> None:
    """Nobody is told how far it is."""


class Made:
    """The documents of one score, as the page reads them."""

    def __init__(self, path: Path) -> None:
        self.data, self.name = path.read_bytes(), path.name
        documents = work.prepare(quiet, self.data, self.name, Hands())
        self.score = Score(json.loads(documents["score"]))
        self.places = Places(json.loads(documents["places"]))
        self.fingers = Fingers(json.loads(work.refinger(quiet, self.data, self.name, Hands(), ())))
        self.preparation = prepared(self.data, self.name, Hands())
        self.shown = lay_over(self.places.spots, [], self.score.index)
        self.layers = layers_of(self.score, self.fingers, self.shown)


@pytest.fixture(scope="module", params=PATHS, ids=lambda p: p.stem)
def made(request: pytest.FixtureRequest) -> Made:
    return Made(request.param)


def test_spots_come_back_whole(made: Made) -> None:
    assert made.places.spots == made.preparation.spots
    for spot in made.preparation.spots:
        assert spot_from_json(json.loads(json.dumps(spot_to_json(spot)))) == spot


def test_the_index_is_that_of_the_piece(made: Made) -> None:
    own = index_of(made.preparation.piece)
    assert made.score.index.anchors == own.anchors
    assert dict(made.score.index.hands) == dict(own.hands)
    assert dict(made.score.index.heads) == dict(own.heads)


def test_every_bar_and_every_printed_note_is_drawn_once(made: Made) -> None:
    drawn = draw_sheet(made.score, made.layers, {})
    bars = [int(b) for d in drawn for b in re.findall(r'data-bar="(\d+)"', d.svg)]
    assert bars == list(range(len(made.score.bars)))
    assert [d.first_bar for d in drawn] == [0, *(d.last_bar + 1 for d in drawn[:-1])]
    ids = [i for d in drawn for i in re.findall(rf'<g id="{PREFIX}([^"]+)"', d.svg)]
    heads = {i for n in made.preparation.piece.notes if n.printed for i in n.ids}
    assert heads <= set(ids)
    assert len(ids) == len(set(ids))


def test_every_layer_is_in_the_drawing_and_every_listed_spot_has_its_number(made: Made) -> None:
    svg = "".join(d.svg for d in draw_sheet(made.score, made.layers, {}))
    for layer in LAYERS:
        if made.layers.get(layer.name):
            assert f'class="layer {layer.name}' in svg
    for spot in made.shown.spots:
        assert (f'data-number="{spot.rank}"' in svg) == bool(spot.rank) or not spot.rank


def test_only_what_changed_is_drawn_again(made: Made) -> None:
    known: dict[str, LayeredSystem] = {}
    before = draw_sheet(made.score, made.layers, known)
    count = len(known)
    assert layered_from_json(json.loads(json.dumps(layered_to_json(known)))) == known
    assert draw_sheet(made.score, made.layers, known) == before
    assert len(known) == count
    note = OwnNote("k", len(made.score.bars) - 1, "here")
    shown = lay_over(made.places.spots, [note], made.score.index)
    after = draw_sheet(made.score, layers_of(made.score, made.fingers, shown), known)
    differ = [a.at for a, b in zip(after, before, strict=True) if a.print_ != b.print_]
    assert differ == [before[-1].at]
    assert len(known) == count + 1
    assert "here</text>" in after[-1].svg


def test_rings_lie_where_the_whole_engraving_would_put_them(made: Made) -> None:
    """Rings are placed from the notes' places alone; drawing takes the rest of the engraving."""
    from passagework.engraving.layered import rings_on

    rings = {"places": [m for m in made.layers["places"] if isinstance(m, Ring)]}
    whole = [made.score.system(at) for at in range(len(made.score))]
    ids = {i for ring in rings["places"] for i in ring.ids}
    assert rings_on(made.score.outlined(ids), rings) == rings_on(whole, rings)


def test_a_teachers_finger_takes_the_place_of_the_pencilled_one(made: Made) -> None:
    from passagework.teaching.edits import FixedFinger

    pencilled = [m for m in made.layers["fingers"] if isinstance(m, Word)]
    note = pencilled[0].id
    anchor = made.score.index.by_id[note]
    shown = lay_over(made.places.spots, [FixedFinger(anchor, (2, 1))], made.score.index)
    now = [m for m in layers_of(made.score, made.fingers, shown)["fingers"] if isinstance(m, Word)]
    mine = [m for m in now if m.id == note]
    assert [(m.text, m.hand) for m in mine] == [("2–1", "teacher")]
    assert len(now) == len(pencilled)


def test_fixed_fingers_are_in_print_and_kept(made: Made) -> None:
    note = made.preparation.piece.notes[3]
    other = prepared_with(made.data, made.name, Hands(), ((note.id, (5,)),))
    assert other.piece.by_id[note.id].fingers == (5,)
    assert other.fingering.fingers[note.id] == (5,)
    assert note.id not in other.fingering.overruled
    written = [n for n in other.notation.notes() if n.get("id") == note.id]
    assert [f.text for f in written[0].iter("fingering")] == ["5"]
    assert other.spots is made.preparation.spots
    # the score itself is as it was
    assert made.preparation.piece.by_id[note.id].fingers == note.fingers


def test_lengths_hold_every_note_once_and_to_its_end(made: Made) -> None:
    played = sound_work.performance(sound_work.Source(made.data, made.name, scale=0.9))
    found: list[Any] = []
    for at, start in enumerate(sound_work.starts(played)):
        for side in sound_work.SIDES:
            part = sound_work.part_of(played, side, start, start + sound_work.LENGTH_S)
            assert all(0 <= n.start < sound_work.LENGTH_S for n in part.notes)
            assert all(n.end <= part.duration for n in part.notes)
            found += [(n.id, round(n.start + at * sound_work.LENGTH_S, 6)) for n in part.notes]
    assert sorted(found) == sorted((n.id, round(n.start, 6)) for n in played.notes)


def test_the_timeline_is_in_order_and_counts_in_one_bar(made: Made) -> None:
    source = sound_work.Source(made.data, made.name)
    line = sound_work.timeline(quiet, source)
    starts = [n[0] for n in line["notes"]]
    assert starts == sorted(starts)
    assert all(a[0] < b[0] for a, b in zip(line["bars"], line["bars"][1:], strict=False))
    first = made.preparation.piece.bars[0]
    beats = int(first.time.length / first.time.beat)
    pickup = int((first.time.length - first.length) / first.time.beat) if first.pickup else 0
    assert len(line["lead"]) == beats + pickup
    gaps = [a[0] - b[0] for a, b in zip(line["lead"], line["lead"][1:], strict=False)]
    assert max(gaps, default=0) == pytest.approx(min(gaps, default=0), rel=0.01)


def test_how_sure_is_the_least_sure_of_what_a_spot_rests_on(
    demo: Callable[[str], Reading],
) -> None:
    context = Context(demo("evening-ferry").piece)
    for spot in find_spots(context):
        value, words = how_sure(spot, context)
        hands = [context.piece.by_id[i].hand_sure for i in spot.focus.note_ids]
        assert 0 <= value <= sum(hands) / len(hands) + 1e-3
        assert words.startswith(
            "Sure" if value >= SURE else "Fairly" if value >= FAIRLY else "A guess"
        )


def test_the_smaller_hand_judges() -> None:
    assert smaller(Hands(Hand(17.0), Hand(19.0))) == Hand(17.0)
    assert smaller(Hands(Hand(21.0), Hand(19.0))) == Hand(19.0)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("sing", "sing"),
        ("two\nlines", "two lines"),
        ("the bass leads here, so listen to it first", "the bass leads here, so listen …"),
    ],
)
def test_a_long_note_is_cut_at_a_word(text: str, shown: str) -> None:
    assert shortened(text) == shown

"""The short list: joined neighbours, returns, ids of their own, and the order."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.spots import find
from passagework.spots.context import Context
from passagework.spots.find import find_spots, importance, rank
from passagework.spots.spot import Candidate, Place, Spot, Wording
from tests.spots.build import context

EMPTY = Wording("A title", "A reason.", "It goes wrong.", ("Try.",), "Done at crotchet = 60.")
BARS = context("R: " + " | ".join(["C5/4"] * 40) + "; L: " + " | ".join(["C3/4"] * 40))


def spot(kind: str, severity: float, bar: int, ident: str) -> Spot:
    place = Place(bar, bar, (ident,), severity)
    return Spot(ident, kind, "right", severity, (place,), place, EMPTY)


def plain_rank(spots: Sequence[Spot], most: int, limits: dict[str, int]) -> list[str]:
    """The same rule told plainly: always the best of all that wait."""
    waiting, listed = list(spots), []
    used: dict[str, int] = {}
    while waiting and len(listed) < most:
        best = min(
            waiting,
            key=lambda s: (
                find.AGAIN * used.get(s.kind, 0) - importance(s), -importance(s), s.first_bar, s.id,
            ),
        )  # fmt: skip
        waiting.remove(best)
        if used.get(best.kind, 0) >= limits[best.kind]:
            continue
        if best.severity < find.LISTED_FROM and len(listed) >= find.FEWEST:
            continue
        used[best.kind] = used.get(best.kind, 0) + 1
        listed.append(best.id)
    return listed


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["leap", "octaves", "stretch", "tremolo"]),
            st.integers(20, 100),
            st.integers(0, 39),
        ),
        max_size=40,
    )
)
def test_ranks_are_those_of_the_plain_rule(rows: list[tuple[str, int, int]]) -> None:
    spots = [
        spot(kind, severity / 100, bar, f"s{i}") for i, (kind, severity, bar) in enumerate(rows)
    ]
    result = rank(spots, BARS)
    limits = {k.name: k.most for k in find.all_kinds()}
    most = min(find.MOST, find.FIRST_LENGTH + 40 // find.BARS_A_SPOT)
    assert [s.id for s in result if s.rank] == plain_rank(spots, most, limits)
    assert [s.rank for s in result if s.rank] == list(range(1, sum(s.rank > 0 for s in result) + 1))
    assert sorted(s.id for s in result) == sorted(s.id for s in spots)


def test_neighbours_are_joined_over_a_long_one() -> None:
    def candidate(first: int, last: int, ident: str) -> Candidate:
        return Candidate(first, last, "right", (ident,), 0.5, family="f")

    kind = find.all_kinds()[0]
    rows = [
        candidate(0, 9, "a"),
        *(candidate(1, 1, f"b{i}") for i in range(20)),
        candidate(10, 10, "c"),
    ]
    (group,) = find._neighbours(kind, rows)
    assert (group.first_bar, group.last_bar) == (0, 10)


@pytest.mark.parametrize("text", ["R: C4+E5/1 C4+F5/1 C4+E5/1 C4+E5/1; R2: r/4; L: C2+E3/4"])
def test_ids_are_unique(text: str) -> None:
    ids = [s.id for s in find_spots(context(text))]
    assert len(ids) == len(set(ids))


def test_spots_of_one_first_note_have_ids_of_their_own() -> None:
    twins = [spot("leap", 0.5, 1, "x"), spot("leap", 0.6, 1, "x"), spot("leap", 0.7, 1, "x")]
    assert [s.id for s in find._with_own_ids(twins)] == ["x", "x-right", "x-right-2"]


def test_returns_are_one_spot() -> None:
    octaves = "C3+C4/1 D3+D4/1 E3+E4/1 F3+F4/1"
    text = f"R: C5/4 | D5/4 | E5/4 | F5/4 | C5/4; L: {octaves} | C3/4 | G2/4 | C3/4 | {octaves}"
    found = [s for s in find_spots(context(text, tempo=140)) if s.kind == "octaves"]
    assert [[(p.first_bar, p.last_bar) for p in s.places] for s in found] == [[(0, 0), (4, 4)]]


def all_ids(ctx: Context) -> Iterable[str]:
    return (i for n in ctx.piece.notes for i in n.ids)


@pytest.mark.parametrize("reach", [14.0, 20.1, 24.0])
def test_spots_name_notes_that_exist(reach: float) -> None:
    ctx = context("R: C4+E5/1 C4+F5/1 C6/2 | D4+D5/2 E4+E5/2; L: C2+E3/4 | C2/1/2 C4/7/2", reach)
    known = set(all_ids(ctx))
    for found in find_spots(ctx):
        assert set(found.note_ids) <= known
        assert found.first_bar <= found.focus.first_bar <= found.focus.last_bar <= found.last_bar


def test_what_is_shown_lies_in_one_place_where_places_touch() -> None:
    kind = replace(find.all_kinds()[0], describe=lambda *_: EMPTY)
    at = {n.bar: n.id for n in BARS.piece.notes}

    def place(bar: int, severity: float) -> find.Group:
        return find.Group(kind, (Candidate(bar, bar, "right", (at[bar],), severity),))

    made = find._spot(kind, [place(5, 0.6), place(6, 0.5)], BARS)
    assert (made.focus.first_bar, made.focus.last_bar) == (5, 5)
    assert (made.first_bar, made.last_bar) == (5, 5)

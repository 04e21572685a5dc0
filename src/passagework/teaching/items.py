"""What has to be practised, piece by piece, and how many minutes each thing takes.

An item is a spot, or one layer of one section. It is *learned* in as many practices as it needs, then *reviewed* a few
times. The minutes follow from the music: how long it sounds, how slowly and how often it is played, and how far it lies
beyond what the student plays securely. More skill never makes an item longer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, log2, sqrt
from typing import Literal

from passagework.exercises.tempos import start_share
from passagework.teaching.settings import Layer, Settings
from passagework.teaching.work import Asked, PieceWork, PlanSection, PlanSpot

What = Literal["spot", "section"]

BELOW, BEYOND = -2.0, 3.0
"""Steps below and above what is secure between which the effort changes."""

UNKNOWN_STEPS = 1.0
"""A kind of which nothing is known is planned for as one step up. A planning value."""

REVIEW_SHARE = 0.4
"""Minutes of a review as a share of those that the thing took to learn in one go. A planning value."""

KNOWN_ALREADY = 0.7
"""Share of the minutes that a section spares whose bars are all known from an earlier one. A planning value."""

LAG = 0.5
"""How many layers the next section is behind the one before it, so that layers overlap; `MOST_LAG` in all."""
MOST_LAG = 1.5


@dataclass(frozen=True, slots=True)
class Item:
    """A thing to practise. Minutes are whole."""

    id: str
    piece_id: str
    what: What
    of: str
    """Id of the spot, or the section's place in `PieceWork.sections`."""
    layer: str
    """Name of the layer; empty for a spot."""
    kind: str
    """Kind of difficulty of a spot; empty for a section."""
    bars: tuple[int, ...]
    learn: int
    """Minutes until it is learned."""
    shortest: int
    session: int
    """Minutes of one practice, at least and at most."""
    review: int
    """Minutes of a review."""
    reviews: int
    """Reviews until it is safe."""
    order: float
    """What comes first among those of its sort: smaller is earlier."""
    worth: float
    """How much it matters, 0 to about 1: what is left out first has least."""
    after: tuple[str, ...] = ()
    """Items that must be learned before."""

    @property
    def needed(self) -> int:
        """Minutes in all."""
        return self.learn + self.reviews * self.review


@dataclass(frozen=True, slots=True)
class Limits:
    """What bounds one practice of one thing."""

    shortest: int
    longest: int


def items_of(
    work: PieceWork, secure: Mapping[str, float], settings: Settings, limits: Limits
) -> tuple[Item, ...]:
    """Everything to practise in `work` for a student with these `secure` skills, spots first.

    `secure` holds the kinds of which something is known.
    """
    spots = tuple(_spot_item(work, spot, secure, settings, limits) for spot in work.spots)
    return (*spots, *_section_items(work, secure, settings, limits))


def effort(steps: float, settings: Settings) -> float:
    """How much longer something takes that lies so many steps above (below: negative) what is secure.

    1 where it is just secure; `Settings.easier` from two steps below on, rising evenly; `Settings.harder` more for each
    step above, up to three. Never falls with `steps`.
    """
    held = min(max(steps, BELOW), BEYOND)
    if held <= 0:
        return 1.0 + (1.0 - settings.easier) * held / -BELOW
    return 1.0 + settings.harder * held


def steps_beyond(demand: float, secure: float | None, settings: Settings) -> float:
    """How many steps `demand` lies beyond what is secure."""
    if secure is None:
        return min(demand / settings.step, UNKNOWN_STEPS)
    return (demand - secure) / settings.step


def piece_effort(
    asked: Mapping[str, Asked], secure: Mapping[str, float], settings: Settings
) -> float:
    """The effort of a piece's sections: the mean of its kinds' efforts, by the share of the bars that hold them."""
    total = sum(a.share for a in asked.values())
    if total <= 0:
        return 1.0
    return (
        sum(
            a.share * effort(steps_beyond(a.hardest, secure.get(kind), settings), settings)
            for kind, a in sorted(asked.items())
        )
        / total
    )


def spot_minutes(spot: PlanSpot, secure: float | None, settings: Settings) -> float:
    """Minutes until `spot` is learned: the steps of its first exercise, each so many times, from the tempo at which
    practice begins up to that of the piece.
    """
    tempo = sqrt(start_share(spot.severity))
    steps = len(spot.exercises[0].steps) if spot.exercises else settings.spot_steps
    once = spot.seconds / tempo * (1.0 + settings.think_share)
    returns = 1.0 + settings.return_share * log2(max(spot.places, 1))
    hard = effort(steps_beyond(spot.demand, secure, settings), settings)
    return steps * settings.spot_times * once * returns * hard / 60.0


def layer_minutes(section: PlanSection, layer: Layer, hard: float, settings: Settings) -> float:
    """Minutes until `layer` of `section` stands."""
    once = section.seconds / layer.tempo * (1.0 + settings.think_share)
    return layer.times * once * hard * (1.0 - KNOWN_ALREADY * section.likeness) / 60.0


def _spot_item(
    work: PieceWork, spot: PlanSpot, secure: Mapping[str, float], settings: Settings, limits: Limits
) -> Item:
    able = secure.get(spot.kind)
    learn = _whole(spot_minutes(spot, able, settings), limits)
    hard = spot.severity * effort(steps_beyond(spot.demand, able, settings), settings)
    more = ceil((settings.most_reviews - settings.fewest_reviews) * min(max(hard, 0.0), 1.0))
    return Item(
        id=f"{work.piece_id}/spot/{spot.id}",
        piece_id=work.piece_id,
        what="spot",
        of=spot.id,
        layer="",
        kind=spot.kind,
        bars=spot.bars,
        learn=learn,
        shortest=limits.shortest,
        session=limits.longest,
        review=_review(learn, limits),
        reviews=settings.fewest_reviews + more,
        order=-spot.importance,
        worth=spot.importance,
    )


def _section_items(
    work: PieceWork, secure: Mapping[str, float], settings: Settings, limits: Limits
) -> list[Item]:
    layers = [layer for layer in settings.layers if work.by_heart or layer.name != "memory"]
    hard = piece_effort(work.asked, secure, settings)
    order = _hardest_first(work)
    lag = min(LAG, MOST_LAG / max(len(order) - 1, 1))
    items: list[Item] = []
    for rank, at in enumerate(order):
        section = work.sections[at]
        before: tuple[str, ...] = ()
        for depth, layer in enumerate(layers):
            learn = _whole(layer_minutes(section, layer, hard, settings), limits)
            name = f"{work.piece_id}/section/{at}/{layer.name}"
            spots = _spots_inside(work, section) if layer.name == "tempo" else ()
            items.append(
                Item(
                    id=name,
                    piece_id=work.piece_id,
                    what="section",
                    of=str(at),
                    layer=layer.name,
                    kind="",
                    bars=tuple(section.bars),
                    learn=learn,
                    shortest=limits.shortest,
                    session=limits.longest,
                    review=_review(learn, limits),
                    reviews=layer.reviews,
                    order=depth + lag * rank,
                    worth=1.0 - depth / len(layers),
                    after=(*before, *spots),
                )
            )
            before = (name,)
    return items


def _hardest_first(work: PieceWork) -> list[int]:
    """Places of the sections, the one with the hardest spots first; a return after what it brings back."""

    def hardness(at: int) -> float:
        bars = set(work.sections[at].bars)
        return max((s.importance for s in work.spots if bars & set(s.bars)), default=0.0)

    def order(at: int) -> tuple[bool, float, int]:
        return (work.sections[at].likeness >= 0.5, -hardness(at), at)

    return sorted(range(len(work.sections)), key=order)


def _spots_inside(work: PieceWork, section: PlanSection) -> tuple[str, ...]:
    """Spots that begin in `section`: it is brought up to tempo when they are learned."""
    return tuple(
        f"{work.piece_id}/spot/{s.id}"
        for s in work.spots
        if s.bars and section.first_bar <= s.bars[0] <= section.last_bar
    )


def _whole(minutes: float, limits: Limits) -> int:
    return max(ceil(minutes - 1e-9), limits.shortest)


def _review(learn: int, limits: Limits) -> int:
    return min(max(ceil(REVIEW_SHARE * learn - 1e-9), limits.shortest), limits.longest)


def practices(item: Item) -> int:
    """In how many practices `item` is learned."""
    return -(-item.learn // item.session)


def by_id(items: Sequence[Item]) -> dict[str, Item]:
    """Items by their ids."""
    return {item.id: item for item in items}

"""The form of a piece: sections, phrases, what comes back and where it parts, what to learn once."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.form_forks import Fork, find_forks
from passagework.analysis.form_learning import LearningMap, map_learning
from passagework.analysis.form_prints import print_bars
from passagework.analysis.form_repeats import Repeat, choose_repeats, find_diagonals
from passagework.analysis.form_sections import (
    Section,
    cut_sections,
    label_sections,
    weigh_boundaries,
)
from passagework.analysis.melody import Tune, find_tune
from passagework.analysis.phrases import Phrase, find_phrases
from passagework.analysis.texture import BarTexture, find_texture
from passagework.score.piece import Piece


@dataclass(frozen=True)
class Form:
    """The form of a piece. Bars are indices; the last one of a span is included."""

    sections: tuple[Section, ...]
    """In order, without gaps: every bar is in one."""
    phrases: tuple[Phrase, ...]
    repeats: tuple[Repeat, ...]
    """Passages that come back, in order of the return."""
    forks: tuple[Fork, ...]
    learning_map: LearningMap


def find_form(
    piece: Piece, tune: Tune | None = None, textures: tuple[BarTexture, ...] | None = None
) -> Form:
    """The form of `piece`, bars as written. `tune` and `textures` spare finding them again."""
    prints = print_bars(piece)
    diagonals = find_diagonals(prints)
    repeats = choose_repeats(prints, diagonals)
    boundaries = weigh_boundaries(
        piece, find_texture(piece) if textures is None else textures, repeats, prints
    )
    starts = cut_sections(boundaries)
    return Form(
        label_sections(starts, boundaries, prints, diagonals),
        find_phrases(piece, find_tune(piece) if tune is None else tune, boundaries.page),
        repeats,
        find_forks(piece, prints, diagonals),
        map_learning(len(prints), repeats),
    )

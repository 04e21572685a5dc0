"""The strip: the whole piece at once, bars from left to right, a row for each kind of difficulty."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from passagework.guide.number_words import signature_keys
from passagework.guide.pencil import GRAPHITE, HAIRLINE, INK, hatch, ring
from passagework.score.bar_names import bar_names
from passagework.score.piece import Piece
from passagework.spots.kinds import Kind
from passagework.spots.spot import Candidate, Spot

WIDTH = 780.0
"""Units across; the page scales it."""
LABELS = 172.0
RULER = 44.0
ROW = 19.0
MOST_CELLS = 110
"""Cells in a row; a longer piece has several bars in a cell."""
MOST_ROWS = 12
MOST_STROKES = 5
FONT = "Palatino, 'Palatino Linotype', 'Book Antiqua', 'Libertinus Serif', Georgia, serif"


@dataclass(frozen=True)
class Row:
    """One kind in the strip: for every bar its severity, 0 where there is none."""

    kind: Kind
    severities: tuple[float, ...]

    @property
    def weight(self) -> float:
        """What orders the rows when there are too many."""
        return max(self.severities) + 0.2 * sum(s > 0 for s in self.severities) / len(
            self.severities
        )


def strip_rows(
    piece: Piece, kinds: Sequence[Kind], candidates: Mapping[str, Sequence[Candidate]]
) -> list[Row]:
    """A row for each kind that the piece has, in the order of the table of kinds."""
    rows: list[Row] = []
    for kind in kinds:
        found = candidates.get(kind.name, ())
        if not found:
            continue
        severities = [0.0] * len(piece.bars)
        for candidate in found:
            for bar in range(candidate.first_bar, candidate.last_bar + 1):
                severities[bar] = max(severities[bar], candidate.severity)
        rows.append(Row(kind, tuple(severities)))
    kept = sorted(rows, key=lambda r: -r.weight)[:MOST_ROWS]
    return [row for row in rows if row in kept]


@dataclass(frozen=True)
class StripGrid:
    """Where the cells of a strip are, for numbers and links that are laid over it."""

    bars: int
    cells: int
    per_cell: int
    """Bars in a cell."""
    kinds: tuple[str, ...]
    """Names of the kinds, row by row."""

    width: float = WIDTH
    labels: float = LABELS
    """Left edge of the first cell."""

    @property
    def step(self) -> float:
        """Width of a cell."""
        return (self.width - self.labels - 4) / self.cells

    @property
    def height(self) -> float:
        """Height of the whole strip."""
        return RULER + ROW * max(len(self.kinds), 1) + 8

    def x_of(self, bar: float) -> float:
        """Left edge of a bar."""
        return self.labels + bar / self.per_cell * self.step

    def middle(self, bar: int) -> float:
        """Middle of the cell that holds a bar."""
        return self.labels + (bar // self.per_cell + 0.5) * self.step

    def number(self, kind: str, bar: int, number: int) -> str:
        """SVG of a spot's number in the row of its kind; ``""`` where the strip has no such row."""
        if kind not in self.kinds:
            return ""
        return _number(self.middle(bar), RULER + ROW * (self.kinds.index(kind) + 0.5), number)

    def ruler_number(self, bar: int, number: int) -> str:
        """SVG of a number on the ruler, for a place of no kind."""
        return _number(self.middle(bar), RULER - 12, number)


def strip_grid(piece: Piece, rows: Sequence[Row], width: float = WIDTH) -> StripGrid:
    """The grid of the strip of `rows`."""
    per_cell = max(1, -(-len(piece.bars) // MOST_CELLS))
    cells = max(1, -(-len(piece.bars) // per_cell))
    return StripGrid(len(piece.bars), cells, per_cell, tuple(r.kind.name for r in rows), width)


def strip_svg(
    piece: Piece,
    rows: Sequence[Row],
    spots: Sequence[Spot],
    sections: Sequence[tuple[int, int, str]] = (),
    width: float = WIDTH,
) -> str:
    """The strip as an SVG document; `sections` are (first bar, last bar, label). A wider one has the same height.

    Denser hatching is harder (one to five strokes a cell); the numbers are those of the spots.
    """
    grid = strip_grid(piece, rows, width)
    cells, per_cell, step, height = grid.cells, grid.per_cell, grid.step, grid.height
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" role="img" aria-label="{escape(_summary(piece, rows))}">',
        f'<g font-family="{FONT}" fill="{INK}" font-size="11.5">',
    ]
    out.append(_ruler(piece, cells, per_cell, step, height, sections))
    for index, row in enumerate(rows):
        top = RULER + index * ROW
        out.append(
            f'<text x="0" y="{top + ROW * 0.72:.1f}" font-size="12">{escape(row.kind.title)}</text>'
        )
        strokes: list[str] = []
        for cell in range(cells):
            bars = range(cell * per_cell, min((cell + 1) * per_cell, len(piece.bars)))
            worst = max(row.severities[b] for b in bars)
            if worst > 0:
                count = max(1, min(MOST_STROKES, round(worst * (MOST_STROKES + 1))))
                count = min(count, max(1, int(step / 2.2)))
                strokes.append(
                    hatch(
                        LABELS + cell * step + 1,
                        top + 3,
                        step - 2,
                        ROW - 6,
                        count,
                        row.kind.name,
                        cell,
                    )
                )
        out.append(
            f'<path d="{"".join(strokes)}" fill="none" stroke="{GRAPHITE}" stroke-width="1.1" '
            'stroke-linecap="round"/>'
        )
        out += [
            grid.number(row.kind.name, spot.focus.first_bar, spot.rank)
            for spot in spots
            if spot.rank and spot.kind == row.kind.name
        ]
    out.append("</g></svg>")
    return "".join(out)


def _number(x: float, y: float, number: int) -> str:
    path = ring(x, y, 7.2, "strip", number)
    return (
        f'<path d="{path}" fill="#fdfcf8" stroke="{INK}" stroke-width="0.9"/>'
        f'<text x="{x:.1f}" y="{y + 3.6:.1f}" font-size="10" text-anchor="middle">{number}</text>'
    )


def _ruler(
    piece: Piece,
    cells: int,
    per_cell: int,
    step: float,
    height: float,
    sections: Sequence[tuple[int, int, str]],
) -> str:
    """Bar numbers, sections, repeats and changes of signature above the rows."""
    out: list[str] = []
    lines = "".join(
        f"M{LABELS + cell * step:.1f} {RULER - 3}V{height - 5:.1f}"
        for cell in range(cells + 1)
        if step >= 9 or cell % 5 == 0 or cell == cells
    )
    out.append(f'<path d="{lines}" stroke="{HAIRLINE}" stroke-width="0.6" fill="none"/>')

    def x_of(bar: float) -> float:
        return LABELS + bar / per_cell * step

    every = max(1, round(len(piece.bars) / (16 if step >= 9 else 22)))
    every = next(n for n in (1, 2, 4, 5, 8, 10, 20, 25, 50, 100, 250, 500, 5000) if n >= every)
    last_x = -100.0
    for bar in piece.bars:
        number = bar.number
        wanted = bar.index == 0 or (number.isdigit() and (int(number) - 1) % every == 0)
        if wanted and number and x_of(bar.index) - last_x > 22:
            last_x = x_of(bar.index)
            out.append(
                f'<text x="{last_x + 1:.1f}" y="{RULER - 6}" font-size="9.5" fill="{GRAPHITE}">'
                f"{escape(number)}</text>"
            )
    for first, last, label in sections:
        left, right = x_of(first) + 1, x_of(last + 1) - 1
        out.append(
            f'<path d="M{left:.1f} 17V13H{right:.1f}V17" fill="none" stroke="{INK}" stroke-width="0.8"/>'
            f'<text x="{(left + right) / 2:.1f}" y="10" text-anchor="middle" font-size="11">{escape(label)}</text>'
        )
    out += _repeats(piece, x_of, height)
    out += _signatures(piece, x_of)
    return "".join(out)


def _repeats(piece: Piece, x_of: Callable[[float], float], height: float) -> list[str]:
    out: list[str] = []
    for bar in piece.bars:
        for there, at, side in (
            (bar.repeat_start, bar.index, 1),
            (bar.repeat_end, bar.index + 1, -1),
        ):
            if there:
                x = x_of(at)
                out.append(
                    f'<path d="M{x:.1f} {RULER - 3}V{height - 5:.1f}" stroke="{INK}" stroke-width="1.6"/>'
                    f'<path d="M{x + 2.6 * side:.1f} {RULER - 3}V{height - 5:.1f}" stroke="{INK}" stroke-width="0.6"/>'
                )
                out += [
                    f'<circle cx="{x + 5.6 * side:.1f}" cy="{(RULER + height) / 2 + dy:.1f}" r="1.5"/>'
                    for dy in (-4, 4)
                ]
    return out


def _signatures(piece: Piece, x_of: Callable[[float], float]) -> list[str]:
    out: list[str] = []
    for key in piece.key_signatures[1:]:
        x = x_of(key.bar)
        count = abs(key.fifths)
        sign = "♯" if key.fifths > 0 else "♭" if key.fifths < 0 else "♮"
        text = f"{count} {sign}" if count else "♮"
        out.append(
            f'<path d="M{x:.1f} {RULER - 26}v23" stroke="{INK}" stroke-width="0.8" stroke-dasharray="2 1.5"/>'
            f'<text x="{x + 2.5:.1f}" y="{RULER - 18}" font-size="10.5">{text}</text>'
        )
    return out


def _summary(piece: Piece, rows: Sequence[Row]) -> str:
    """The strip in words, for those who cannot see it."""
    parts = [
        f"{row.kind.title}: {bar_names(piece, [i for i, s in enumerate(row.severities) if s > 0])}"
        for row in rows
    ]
    changes = [
        f"signature of {signature_keys(k.fifths, k.mode)} from {bar_names(piece, (k.bar,))}"
        for k in piece.key_signatures[1:]
    ]
    return "; ".join([f"{len(piece.bars)} bars", *parts, *changes])

"""Directions: dynamics, words, hairpins, tempo, pedal, ottava lines, and the signs of jumps."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from passagework.score.markup import Element
from passagework.score.piece import Bar, Dynamic, Hairpin, Metronome, OctaveShift, Pedal, Words
from passagework.score.values import TYPE_QUARTERS
from passagework.score.warnings import Warnings

Place = tuple[Fraction, int, str, int, str]
"""Position, bar index, printed bar number, staff and id of a direction."""

_CRESCENDO = re.compile(r"\bcresc", re.IGNORECASE)
_DIMINUENDO = re.compile(r"\b(dim(in)?\b|dimin|decresc)", re.IGNORECASE)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")

SLOWEST, FASTEST = 4.0, 1_000.0
"""Quarters per minute between which a tempo is believed."""


@dataclass
class Marks:
    """Everything that directions say, collected bar by bar; lines are closed by `finish`."""

    warnings: Warnings
    dynamics: list[Dynamic] = field(default_factory=list)
    hairpins: list[Hairpin] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    metronomes: list[Metronome] = field(default_factory=list)
    pedals: list[Pedal] = field(default_factory=list)
    shifts: list[OctaveShift] = field(default_factory=list)
    signs: list[tuple[str, int]] = field(default_factory=list)
    """(name of a jump sign, bar index): ``segno``, ``coda``, ``tocoda``, ``fine``, ``dacapo``, ``dalsegno``."""
    _wedges: dict[tuple[str, int], tuple[Place, str]] = field(default_factory=dict)
    _dashes: dict[tuple[str, int], tuple[Place, str]] = field(default_factory=dict)
    _shifts: dict[tuple[str, int], tuple[Place, int]] = field(default_factory=dict)
    _pedal: tuple[Place, list[Fraction]] | None = None

    def read(self, direction: Element, place: Place) -> None:
        """Read one ``direction`` that stands at `place`."""
        words: list[Element] = []
        for kind in direction.findall("direction-type"):
            for node in kind:
                self._node(node, place, words)
        if words:
            self._words(direction, words, place)
        for sound in direction.findall("sound"):
            self.read_sound(sound, place)

    def read_sound(self, sound: Element, place: Place) -> None:
        """Playback data of a ``sound`` element: a tempo, and the signs of jumps."""
        tempo = _number(sound.get("tempo"))
        onset, bar, _, _, ident = place
        if tempo is not None and SLOWEST <= tempo <= FASTEST:
            printed = any(m.onset == onset and m.printed for m in self.metronomes)
            if not printed:
                self.metronomes.append(
                    Metronome(ident, onset, bar, Fraction(1), tempo, printed=False)
                )
        for name in ("segno", "coda", "tocoda", "fine", "dacapo", "dalsegno"):
            if sound.get(name) not in {None, "no"}:
                self._sign(name, bar)

    def _sign(self, name: str, bar: int) -> None:
        if (name, bar) not in self.signs:
            self.signs.append((name, bar))

    def _node(self, node: Element, place: Place, words: list[Element]) -> None:
        onset, bar, _, staff, ident = place
        tag = node.tag
        if tag == "words":
            words.append(node)
        elif tag == "dynamics":
            text = dynamic_text(node)
            if text:
                self.dynamics.append(Dynamic(ident, onset, bar, staff, text))
        elif tag == "wedge":
            self._wedge(node, place)
        elif tag == "dashes":
            self._dashed(node, place, words)
        elif tag == "metronome":
            self._metronome(node, place)
        elif tag == "pedal":
            self._damper(node.get("type", ""), place)
        elif tag == "octave-shift":
            self._ottava(node, place)
        elif tag in {"segno", "coda"}:
            self._sign(str(tag), bar)

    def _words(self, direction: Element, nodes: list[Element], place: Place) -> None:
        onset, bar, _, staff, ident = place
        text = " ".join(" ".join((n.text or "").split()) for n in nodes).strip()
        if not text:
            return
        if text.lower() in {"ped.", "ped", "𝆮"} and len(text) <= 4:
            self._damper("start", place)
            return
        if text in {"*", "✱", "𝆯"}:
            self._damper("stop", place)
            return
        first = nodes[0]
        self.words.append(
            Words(
                ident,
                onset,
                bar,
                staff,
                text,
                direction.get("placement") or first.get("placement") or "",
                bold=first.get("font-weight") == "bold",
                italic=first.get("font-style") == "italic",
            )
        )
        self._jump_words(text, bar)

    def _jump_words(self, text: str, bar: int) -> None:
        plain = re.sub(r"[^a-z]", "", text.lower())
        if plain.startswith(("dacapo", "dc")) and len(plain) <= 18:
            self._sign("dacapo", bar)
        elif plain.startswith(("dalsegno", "ds")) and len(plain) <= 20:
            self._sign("dalsegno", bar)
        elif plain == "fine":
            self._sign("fine", bar)
        elif plain in {"tocoda", "alcoda"}:
            self._sign("tocoda", bar)

    def _wedge(self, node: Element, place: Place) -> None:
        kind = node.get("type")
        key = (node.get("number", "1"), 0)
        if kind in {"crescendo", "diminuendo"}:
            self._close_wedge(key, place)
            self._wedges[key] = (place, str(kind))
        elif kind == "stop":
            self._close_wedge(key, place)

    def _close_wedge(self, key: tuple[str, int], at: Place) -> None:
        opened = self._wedges.pop(key, None)
        if opened is not None:
            self._hairpin(opened[0], at[0], opened[1])

    def _hairpin(self, start: Place, end: Fraction, kind: str) -> None:
        onset, bar, _, staff, ident = start
        if end > onset:
            name = "crescendo" if kind == "crescendo" else "diminuendo"
            self.hairpins.append(Hairpin(ident, onset, end, bar, staff, name))  # type: ignore[arg-type]

    def _dashed(self, node: Element, place: Place, words: list[Element]) -> None:
        key = (node.get("number", "1"), place[3])
        if node.get("type") == "start":
            text = " ".join(w.text or "" for w in words)
            if not text and self.words and self.words[-1].onset == place[0]:
                text = self.words[-1].text
            kind = ("crescendo" if _CRESCENDO.search(text)
                    else "diminuendo" if _DIMINUENDO.search(text) else "")  # fmt: skip
            self._dashes[key] = (place, kind)
        elif node.get("type") == "stop":
            opened = self._dashes.pop(key, None)
            if opened is not None and opened[1]:
                self._hairpin(opened[0], place[0], opened[1])

    def _metronome(self, node: Element, place: Place) -> None:
        onset, bar, number, _, ident = place
        units = node.findall("beat-unit")
        beat = TYPE_QUARTERS.get((units[0].text or "").strip()) if len(units) == 1 else None
        text = node.findtext("per-minute") or ""
        figures = [float(f.replace(",", ".")) for f in _NUMBER.findall(text)[:2]]
        if beat is None or not figures:
            return  # a metric modulation, or no number: nothing to compute with
        beat *= 2 - Fraction(1, 2 ** min(len(node.findall("beat-unit-dot")), 3))
        rate = sum(figures) / len(figures)
        if not SLOWEST <= float(beat) * rate <= FASTEST:
            self.warnings.add("a metronome mark is not believable and not used", number)
            return
        self.metronomes = [m for m in self.metronomes if m.printed or m.onset != onset]
        self.metronomes.append(
            Metronome(ident, onset, bar, beat, rate, printed=node.get("print-object") != "no")
        )

    def _damper(self, kind: str, place: Place) -> None:
        onset = place[0]
        if kind in {"start", "resume"}:
            self._lift(onset)
            self._pedal = (place, [])
        elif kind in {"stop", "discontinue"}:
            self._lift(onset)
        elif kind == "change":
            if self._pedal is None:
                self._pedal = (place, [])
            elif self._pedal[0][0] != onset:
                self._pedal[1].append(onset)

    def _lift(self, end: Fraction) -> None:
        if self._pedal is None:
            return
        (onset, bar, _, _, ident), changes = self._pedal
        self._pedal = None
        if end > onset:
            inner = tuple(sorted({c for c in changes if onset < c < end}))
            self.pedals.append(Pedal(ident, onset, end, bar, inner))

    def _ottava(self, node: Element, place: Place) -> None:
        key = (node.get("number", "1"), place[3])
        kind = node.get("type")
        if kind in {"up", "down"}:
            size = _number(node.get("size", "8")) or 8
            octaves = max(1, min(3, round((size - 1) / 7)))
            self._shifts[key] = (place, octaves if kind == "down" else -octaves)
        elif kind == "stop":
            opened = self._shifts.pop(key, None)
            if opened is None and self._shifts:
                opened = self._shifts.pop(next(iter(self._shifts)))
            if opened is not None:
                (onset, bar, _, staff, _), octaves = opened
                if place[0] > onset:
                    self.shifts.append(OctaveShift(onset, place[0], bar, staff, octaves))

    def finish(self, bars: Sequence[Bar]) -> None:
        """Close what is still open at the end of the piece and put everything in order."""
        end = bars[-1].end if bars else Fraction(0)
        for place, kind in self._wedges.values():
            self.warnings.add("a hairpin has no end and is taken to the end of its bar", place[2])
            self._hairpin(place, bars[place[1]].end, kind)
        self._wedges.clear()
        self._lift(end)
        for (onset, bar, number, staff, _), octaves in self._shifts.values():
            self.warnings.add("an ottava line has no end and is taken to the end", number)
            if end > onset:
                self.shifts.append(OctaveShift(onset, end, bar, staff, octaves))
        self._shifts.clear()
        for rows in (self.dynamics, self.hairpins, self.words, self.metronomes, self.pedals):
            rows.sort(key=lambda mark: mark.onset)
        self.shifts.sort(key=lambda mark: mark.onset)


def dynamic_text(node: Element) -> str:
    """The sign of a ``dynamics`` element, adjacent ones joined (``s`` and ``fz`` make ``sfz``)."""
    text = "".join(
        (child.text or "").strip() if child.tag == "other-dynamics" else str(child.tag)
        for child in node
    )
    return text[:16]


def _number(text: str | None) -> float | None:
    try:
        value = float(text or "")
    except ValueError:
        return None
    return value if value == value and abs(value) < 1e9 else None

"""Keys and chords against human annotators: shares of duration, and what is confused with what.

Labels are in the DCML standard, found in ``harmony/*.tsv`` beside ``scores/`` in the data folder
(``PASSAGEWORK_DATA``, or ``../shared/data`` beside the checkout). A label holds until the next one;
durations without a label are left out. Counted as equal: keys and roots and basses of the same pitch
class (and keys of the same mode); qualities of the same kind, a dominant with a ninth being the
dominant seventh it stands for in the labels.
"""

from __future__ import annotations

import csv
import os
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from passagework.analysis.harmony import Chord, Harmony, analyse_harmony
from passagework.analysis.harmony.qualities import fifths_of, spelled
from passagework.score import Piece, read_score

KINDS = {
    "M": "major",
    "m": "minor",
    "o": "diminished",
    "+": "augmented",
    "Mm7": "dominant",
    "mm7": "minor-seventh",
    "MM7": "major-seventh",
    "mM7": "major-minor",
    "%7": "half-diminished",
    "o7": "diminished-seventh",
    "+7": "augmented-seventh",
    "Ger": "German",
    "It": "Italian",
    "Fr": "French",
}
"""The labels' `chord_type` as MusicXML's kinds; others count as wrong whatever is found."""
_DEGREES = {"i": 0, "ii": 2, "iii": 4, "iv": -1, "v": 1, "vi": 3, "vii": 5}
SHOWN = 12


@dataclass(frozen=True)
class Label:
    """An annotation with its span; notes on the line of fifths."""

    start: Fraction
    end: Fraction
    tonic: int
    minor: bool
    root: int
    bass: int
    kind: str
    text: str


def data_folder() -> Path:
    """Where the scores and labels are, whether they are there or not."""
    named = os.environ.get("PASSAGEWORK_DATA")
    return Path(named) if named else Path(__file__).resolve().parents[2] / "shared" / "data"


def local_key(numeral: str, tonic: int, minor: bool) -> tuple[int, bool]:
    """Tonic and mode that a numeral names in a global key: ``bVI`` in A flat major is F flat major."""
    step = numeral.lstrip("#b")
    place = _DEGREES[step.lower()] - (7 if minor and step.lower() in {"iii", "vi", "vii"} else 0)
    return tonic + place + 7 * (numeral.count("#") - numeral.count("b")), step[0].islower()


def labels_of(path: Path, piece: Piece) -> list[Label]:
    """Labels of a file, placed by bar number and offset in it."""
    bars: dict[str, Fraction] = {}
    for bar in piece.bars:
        bars.setdefault(bar.number, bar.onset)
    with path.open(newline="") as file:
        rows = [
            (bars[row["mn"]] + 4 * Fraction(row["mn_onset"]), row)
            for row in csv.DictReader(file, delimiter="\t")
        ]
    found = []
    for at, (start, row) in enumerate(rows):
        end = rows[at + 1][0] if at + 1 < len(rows) else piece.end
        if not row["chord"] or end <= start:
            continue
        name = row["globalkey"]
        home = fifths_of(name[0].upper() + name[1:])
        tonic, minor = local_key(row["localkey"], home, name[0].islower())
        found.append(
            Label(
                start,
                end,
                tonic,
                minor,
                tonic + int(row["root"]),
                tonic + int(row["bass_note"]),
                KINDS.get(row["chord_type"], "?"),
                row["label"],
            )
        )
    return found


def _same(one: int, name: str) -> bool:
    return (one - fifths_of(name)) % 12 == 0


def compare(
    labels: list[Label], harmony: Harmony, confusions: Counter[tuple[str, str, str]]
) -> dict[str, float]:
    """Shares of the labelled duration that agree; `confusions` gathers what does not, in quarters."""
    agreed: Counter[str] = Counter()
    total, at = 0.0, 0
    chords = harmony.chords
    for label in labels:
        while at and chords[at].onset > label.start:
            at -= 1
        for i in range(max(at - 1, 0), len(chords)):
            chord = chords[i]
            if chord.onset >= label.end:
                break
            shared = float(min(label.end, chord.end) - max(label.start, chord.onset))
            if shared <= 0:
                continue
            at, total = i, total + shared
            for what, right in _agreement(label, chord, harmony).items():
                agreed[what] += shared if right else 0  # type: ignore[assignment]
                if not right and what in {"key", "root", "bass", "root and quality"}:
                    confusions[(what, *_words(what, label, chord, harmony))] += shared  # type: ignore[assignment]
    return {what: value / total for what, value in agreed.items()} if total else {}


def _agreement(label: Label, chord: Chord, harmony: Harmony) -> dict[str, bool]:
    key = harmony.keys[chord.key]
    root = _same(label.root, chord.root)
    quality = chord.quality == label.kind or (
        label.kind == "dominant" and chord.quality == "dominant-ninth"
    )
    return {
        "key": _same(label.tonic, key.tonic) and label.minor == (key.mode == "minor"),
        "root": root,
        "root and quality": root and quality,
        "bass": _same(label.bass, chord.bass),
    }


def _words(what: str, label: Label, chord: Chord, harmony: Harmony) -> tuple[str, str]:
    key = harmony.keys[chord.key]
    if what == "key":
        return (
            f"{spelled(label.tonic)} {'minor' if label.minor else 'major'}",
            f"{key.tonic} {key.mode}",
        )
    if what == "bass":
        return f"{label.text} over {spelled(label.bass)}", f"{chord.numeral} over {chord.bass}"
    if what == "root":
        return label.text, chord.numeral
    return f"{spelled(label.root)} {label.kind}", f"{chord.root} {chord.quality}"


def main() -> None:
    """Print the figures of every annotated score and their commonest confusions."""
    folder = data_folder()
    files = sorted((folder / "harmony").glob("*.tsv"))
    if not files:
        print(f"no labels under {folder / 'harmony'}: nothing measured")
        return
    for file in files:
        score = folder / "scores" / f"{file.stem}.musicxml"
        piece = read_score(score.read_bytes(), score.name).piece
        harmony = analyse_harmony(piece)
        confusions: Counter[tuple[str, str, str]] = Counter()
        shares = compare(labels_of(file, piece), harmony, confusions)
        print(f"{file.stem}: " + ", ".join(f"{what} {share:.3f}" for what, share in shares.items()))
        for (what, right, found), quarters in confusions.most_common(SHOWN):
            print(f"  {quarters:5.1f} quarters  {what}: {right} taken for {found}")


if __name__ == "__main__":
    main()

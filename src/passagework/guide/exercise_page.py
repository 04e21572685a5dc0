"""Exercises as plain values for the pages, and as files: notation, MIDI, pictures, sound, one sheet."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle
from typing import TYPE_CHECKING, Any

from passagework.engraving.draw import System, draw
from passagework.engraving.errors import EngravingError
from passagework.engraving.layout import Layout
from passagework.engraving.marks import Grey
from passagework.engraving.process import Engraver, Pending
from passagework.exercises.exercise import Exercise, Step
from passagework.exercises.tempos import tempo_name
from passagework.guide.preparation import Preparation
from passagework.spots.spot import Spot

if TYPE_CHECKING:
    from passagework.sound.files import Format

STEP = Layout(width_mm=150.0, margin_mm=1.0, staff_mm=6.4)
"""A step: a little smaller than the place it comes from."""

COUNT_IN_BARS = 1

FORMAT = "passagework.exercises/1"


@dataclass(frozen=True)
class Sound:
    """How the steps are to sound: the form of the files, and an SF2 file's bytes for another piano."""

    form: Format
    soundfont: bytes | None = None


@dataclass(frozen=True)
class Offer:
    """What is offered for one spot, or for bars that the teacher chose (no spot)."""

    spot: Spot | None
    exercises: tuple[Exercise, ...]


@dataclass(frozen=True)
class Started:
    """An exercise whose steps are being engraved."""

    exercise: Exercise
    pending: tuple[Pending, ...]


class StepEngraver:
    """Engraves steps, the same music once: the rungs of a ladder of tempos share a picture.

    The steps are dealt out to the engravers in turn. Two keep two cores busy while the program, which
    has done its own work by then, waits for the pictures.
    """

    def __init__(self, *engravers: Engraver) -> None:
        self._engravers = cycle(engravers)
        self._known: dict[bytes, Pending] = {}

    def start(self, exercise: Exercise) -> Started:
        """Begin to engrave the steps of `exercise`."""
        return Started(exercise, tuple(self._step(step) for step in exercise.steps))

    def _step(self, step: Step) -> Pending:
        key = step.notation.to_bytes()
        if key not in self._known:
            self._known[key] = next(self._engravers).start(step.notation, STEP, natural=True)
        return self._known[key]


def exercise_values(
    preparation: Preparation, started: Started, troubles: list[str], sound: Sound | None = None
) -> dict[str, Any]:
    """An exercise for the templates; `sound` is what to carry the steps' sound in."""
    exercise = started.exercise
    bars = range(exercise.first_bar, exercise.last_bar + 1)
    return {
        "id": exercise.id,
        "title": exercise.title,
        "why": exercise.why,
        "where": preparation.context.bar_names(bars),
        "steps": _said_once(
            [
                step_values(step, pending, troubles, sound)
                for step, pending in zip(exercise.steps, started.pending, strict=True)
            ]
        ),
    }


def _said_once(steps: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Steps with ``same`` set where the music is that of the step before, which need not be shown again."""
    before: object = None
    for step in steps:
        step["same"] = bool(step["systems"]) and step["systems"] == before
        before = step["systems"]
    return steps


def step_values(
    step: Step, pending: Pending, troubles: list[str], sound: Sound | None
) -> dict[str, Any]:
    """One step for the templates."""
    return {
        "title": step.title,
        "instruction": step.instruction,
        "tempo": tempo_name(step.tempo),
        "done_when": step.done_when,
        "repeat": step.repeat,
        "systems": [
            {"svg": s.svg, "share": round(min(1.0, s.width_mm / STEP.width_mm), 4)}
            for s in drawn(step, pending, troubles)
        ],
        "sound": sound_of(step, sound) if sound else "",
    }


def drawn(step: Step, pending: Pending, troubles: list[str]) -> list[System]:
    """The systems of a step, notes that are not played set back in grey."""
    marks = [Grey(tuple(sorted(step.grey)))] if step.grey else []
    try:
        return draw(pending.result(), STEP, marks, shrink=True)
    except EngravingError as error:
        if str(error) not in troubles:
            troubles.append(str(error))
        return []


def midi_of(step: Step) -> bytes:
    """A step as a MIDI file: counted in, with the click, grey notes silent."""
    from passagework.sound.midi import to_midi

    return to_midi(_performed(step))


def sound_of(step: Step, sound: Sound) -> str:
    """A step's sound as a data URI, for a page that carries it inside."""
    from passagework.sound.files import MEDIA_TYPES

    data = base64.b64encode(audio_of(step, sound)).decode()
    return f"data:{MEDIA_TYPES[sound.form]};base64,{data}"


def audio_of(step: Step, sound: Sound) -> bytes:
    """A step's sound as a file of that form."""
    from passagework.sound.audio import render
    from passagework.sound.files import audio_file

    return audio_file(render(_performed(step), soundfont=sound.soundfont), sound.form)


def _performed(step: Step) -> Any:
    from passagework.sound.perform import perform

    only = None
    if step.grey:
        ids = {n.get("id", "") for n in step.notation.notes()}
        only = ids - step.grey
    return perform(
        step.notation,
        tempo=step.tempo.quarters_per_minute,
        only=only,
        count_in=COUNT_IN_BARS,
        click=True,
    )


def exercise_files(
    preparation: Preparation, offers: Sequence[Offer], *, sound: Sound | None = None
) -> Iterator[tuple[str, bytes]]:
    """(name, bytes) of every file: for each step MusicXML, MIDI and SVG (and sound on request), then
    ``exercises.pdf`` with everything on one sheet and ``exercises.json`` that says what is what.
    """
    from passagework.guide.render import render_sheet

    troubles: list[str] = []
    sheet: list[dict[str, Any]] = []
    index: list[dict[str, Any]] = []
    with Engraver() as one, Engraver() as other:
        steps = StepEngraver(one, other)
        rows = [
            (number, offer, steps.start(exercise))
            for number, (offer, exercise) in enumerate(
                ((o, e) for o in offers for e in o.exercises), start=1
            )
        ]
        for number, offer, started in rows:
            values = exercise_values(preparation, started, troubles)
            sheet.append(values | {"number": number, "place": _place(offer)})
            names: list[Mapping[str, str]] = []
            for at, (step, shown) in enumerate(
                zip(started.exercise.steps, values["steps"], strict=True), start=1
            ):
                stem = f"{number:02d}-{_plain(started.exercise.technique)}-step-{at}"
                yield f"{stem}.musicxml", step.notation.to_bytes()
                yield f"{stem}.mid", midi_of(step)
                for part, system in enumerate(shown["systems"], start=1):
                    suffix = f"-{part}" if len(shown["systems"]) > 1 else ""
                    yield f"{stem}{suffix}.svg", system["svg"].encode()
                if sound:
                    yield f"{stem}.{sound.form}", audio_of(step, sound)
                names.append({"title": step.title, "file": stem, "tempo": tempo_name(step.tempo),
                              "instruction": step.instruction, "done_when": step.done_when})  # fmt: skip
            index.append(
                {
                    "number": number,
                    "spot": offer.spot.id if offer.spot else None,
                    "kind": offer.spot.kind if offer.spot else None,
                    "technique": started.exercise.technique,
                    "title": started.exercise.title,
                    "why": started.exercise.why,
                    "first_bar": started.exercise.first_bar,
                    "last_bar": started.exercise.last_bar,
                    "steps": names,
                }
            )
    title = preparation.title
    yield "exercises.pdf", render_sheet({"title": title, "exercises": sheet})
    yield "exercises.json", _json({"format": FORMAT, "title": title, "exercises": index})


def _place(offer: Offer) -> str:
    return offer.spot.wording.title if offer.spot else "bars chosen by the teacher"


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9-]+", "-", text.lower())


def _json(document: dict[str, Any]) -> bytes:
    import json

    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()

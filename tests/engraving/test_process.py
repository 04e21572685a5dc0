"""The engraver's process: every printed note arrives, and nothing that goes wrong there goes wrong here."""

from __future__ import annotations

import os
import time

import pytest
from hypothesis import given, settings

from passagework.engraving import process
from passagework.engraving.errors import EngravingError
from passagework.engraving.layout import Layout
from passagework.engraving.process import Engraver
from passagework.engraving.render import render_score, shared_engraver, start_score
from passagework.engraving.system import EngravedSystem, Engraving
from passagework.score import Reading
from passagework.score.notation import Notation
from tests.engraving.scores import DEMO, demo, printed_notes, reading, real, texts


def ids_of(engraving: Engraving) -> set[str]:
    return {i for system in engraving.systems for i in system.notes}


def check(score: Reading, layout: Layout | None = None) -> Engraving:
    engraving = start_score(score.notation, layout).result(60)
    assert printed_notes(score) <= ids_of(engraving)
    bars = [m.id for system in engraving.systems for m in system.measures]
    assert bars == [m.get("id") for m in score.notation.measures]
    for system in engraving.systems:
        for note, place in system.notes.items():
            assert f'<g id="{note}"' in system.body
            assert system.ink[0] <= place.full[0] <= place.head[0]
            assert place.head[3] <= place.full[3] <= system.ink[3]
        for key, ids in system.members.items():
            assert f'<g id="{key}"' in system.body
            assert ids
    return engraving


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_every_note_of_the_demo_pieces(name: str) -> None:
    check(demo(name))


@pytest.mark.parametrize("name", ["brahms", "bach-fugue", "chopin-berceuse"])
def test_every_note_of_real_scores(name: str) -> None:
    check(real(name))


@settings(max_examples=40, deadline=None)
@given(texts())
def test_every_note_of_any_score(text: str) -> None:
    check(reading(text))


def test_systems_are_as_wide_as_the_layout_says() -> None:
    layout = Layout(width_mm=140, staff_mm=6.0)
    engraving = check(demo("evening"), layout)
    widths = {system.edges[1] - system.edges[0] for system in engraving.systems[:-1]}
    # one width but for the brace, which is there on all of them
    assert max(widths) - min(widths) <= 6
    assert max(widths) * layout.mm == pytest.approx(140 - layout.margin_mm, abs=8)
    assert all(bottom - top == 240 for s in engraving.systems for top, bottom in s.staves)


def test_systems_cross_between_processes_unchanged() -> None:
    system = check(demo("lamp")).systems[0]
    assert EngravedSystem.from_json(system.to_json()) == system


def test_starting_does_not_wait() -> None:
    score = demo("evening")
    with Engraver() as engraver:
        began = time.perf_counter()
        pending = engraver.start(score.notation)
        assert time.perf_counter() - began < 0.25
        assert ids_of(pending.result(60)) >= printed_notes(score)
        assert pending.done()


def test_jobs_are_answered_in_order() -> None:
    names = ["paper", "lamp", "paper", "lamp"]
    with Engraver() as engraver:
        waiting = [engraver.start(demo(name).notation) for name in names]
        for name, pending in zip(names, waiting, strict=True):
            assert ids_of(pending.result(60)) >= printed_notes(demo(name))


def test_too_late_is_an_error_and_the_next_job_works() -> None:
    score = demo("evening")
    with Engraver(0.001, 0.0) as engraver:
        with pytest.raises(EngravingError, match=r"longer than 0\.001 seconds"):
            engraver.start(score.notation).result(60)
        engraver.time_limit = 60
        assert engraver.start(score.notation).result(60).systems


def test_a_crash_is_an_error_and_the_next_job_works(monkeypatch: pytest.MonkeyPatch) -> None:
    score = demo("paper")
    with Engraver() as engraver:
        monkeypatch.setattr(process, "_COMMAND", "import os; os.read(0, 9); os.abort()")
        with pytest.raises(EngravingError, match="broke down"):
            engraver.start(score.notation).result(60)
        monkeypatch.undo()
        assert engraver.start(score.notation).result(60).systems


def test_what_the_engraver_prints_does_not_disturb(monkeypatch: pytest.MonkeyPatch) -> None:
    noisy = (
        "from passagework.engraving import toolkit, worker; import os; real = toolkit.engrave\n"
        "def engrave(*a, **k):\n"
        "    os.write(1, b'noise'); os.write(2, b'noise'); print('noise', flush=True)\n"
        "    return real(*a, **k)\n"
        "toolkit.engrave = engrave; worker.serve()"
    )
    monkeypatch.setattr(process, "_COMMAND", noisy)
    with Engraver() as engraver:
        assert engraver.start(demo("paper").notation).result(60).systems


def test_closing_ends_the_process_and_what_waits() -> None:
    engraver = Engraver()
    engraver.start(demo("paper").notation).result(60)
    child = engraver._process
    assert child is not None
    engraver.close()
    assert child.poll() is not None
    with pytest.raises(EngravingError, match="closed"):
        engraver.start(demo("paper").notation)


def test_music_without_a_bar_cannot_be_engraved() -> None:
    score = demo("paper")
    empty = score.notation.copy()
    for measure in empty.measures:
        empty.part.remove(measure)
    with pytest.raises(EngravingError):
        shared_engraver().start(empty).result(60)


def test_nothing_of_the_surroundings_is_printed() -> None:
    score = demo("paper")
    svg = "".join(s.svg for s in render_score(score.notation))
    assert "Pno" not in svg
    assert ">Piano<" not in svg
    assert "Verovio" not in svg
    assert score.piece.title not in svg


def test_the_process_does_not_see_files_of_the_working_folder(
    tmp_path: os.PathLike[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with open("verovio.py", "w") as file:
        file.write("raise SystemExit(3)")
    with Engraver() as engraver:
        assert engraver.start(demo("paper").notation).result(60).systems


@pytest.mark.parametrize(
    "harm",
    [
        "<direction id='h1'><direction-type><wedge type='crescendo'/></direction-type></direction>",
        "<direction id='h1'><direction-type><octave-shift type='down'/></direction-type></direction>",
        "<direction id='h1'><direction-type><pedal type='change'/></direction-type></direction>",
        "<direction id='h1'><direction-type><words>\ue522 ﷽ \U0001d11e</words></direction-type></direction>",
        "<backup><duration>999999</duration></backup>",
        "<forward><duration>999999</duration></forward>",
        "<attributes><time><beats>0</beats><beat-type>0</beat-type></time></attributes>",
        "<attributes><clef number='9'><sign>Q</sign></clef></attributes>",
        "<attributes><key><fifths>99</fifths></key></attributes>",
        "<note id='h1'><grace/><pitch><step>C</step><octave>4</octave></pitch><voice>1</voice></note>",
        "<note id='h1'><chord/><pitch><step>C</step><octave>9</octave></pitch><duration>1</duration>"
        "<voice>1</voice><beam number='1'>end</beam><notations><slur type='stop' number='7'/>"
        "<tuplet type='stop'/></notations></note>",
    ],
)
def test_odd_trees_give_a_picture_or_an_error(harm: str) -> None:
    from lxml import etree

    notation = demo("paper").notation.copy()
    measure = notation.measures[3]
    for place in (0, len(measure) // 2, len(measure)):
        measure.insert(place, etree.fromstring(harm))
    try:
        with Engraver(2, 0) as engraver:
            systems = render_score(Notation(notation.root), engraver=engraver)
    except EngravingError:
        return
    assert all(etree.fromstring(s.svg).get("viewBox") for s in systems)

"""Letting the workers listen to a take, and what follows from what they heard."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from passagework.hands.hand import Hands
from passagework.studio.computed import ComputedKey
from passagework.studio.errors import NotFoundError, StudioError
from passagework.teaching import stored
from passagework.teaching.heard import results_of
from passagework.teaching.student import TakeHeard
from passagework.web.jobs import Job, Jobs
from passagework.web.takes.work import RESULT_VERSION, TakeAsked, listen_job
from passagework.web.teaching.evidence import HEARD_FORMAT
from passagework.web.teaching.measured import reach_of
from passagework.web.teaching.plan_view import item_words
from passagework.web.teaching.plan_work import read_plan
from passagework.web.teaching.planning import plan_again_if_planned

if TYPE_CHECKING:
    from passagework.studio.records import TakeRecord
    from passagework.studio.studio import Studio
    from passagework.teaching.progress import ItemResult

LIMIT: Final = 7200.0
"""Seconds that listening may take: an hour of sound on a slow machine. MIDI takes a second or two."""


def key_of(take: int) -> str:
    """The name of the job that listens to a take."""
    return f"take:{take}"


def plan_key_of(take: int) -> str:
    """The name of the job that makes the plan again after a take."""
    return f"plan-after-take:{take}"


def music_key(take: TakeRecord) -> ComputedKey:
    """Where the music of what is said first is kept."""
    return ComputedKey(take.hash, f"take-music/{RESULT_VERSION}/{take.piece_id}")


def listen_to(studio: Studio, jobs: Jobs, take: TakeRecord) -> Job:
    """Begin to listen. Raises `StudioError` where it is not said what was played."""
    asked = take_asked(studio, take)
    piece = int(asked.piece_id)

    def keep(found: dict[str, Any]) -> None:
        results = keep_result(studio, take.id, piece, found)
        if results:
            plan_again_if_planned(
                studio, jobs, take.student_id, "after a take", results=results, key=plan_key_of(take.id)
            )  # fmt: skip

    return jobs.submit(
        "take", listen_job, (asked,), key_of(take.id),
        title=f"Listening to {take.student_name} play {asked.title}", near=studio.pieces.get(piece).hash,
        limit=LIMIT, keep=keep,
    )  # fmt: skip


def take_asked(studio: Studio, take: TakeRecord) -> TakeAsked:
    """All that is needed to listen to a take. Raises `StudioError` where it is not said what was played."""
    if take.piece_id is None:
        raise StudioError("it is not said which piece this is", do="choose the piece first")
    piece = studio.pieces.get(take.piece_id)
    student = studio.students.get(take.student_id)
    return TakeAsked(
        take_id=take.uid,
        data=studio.takes.file(take.id),
        piece_id=str(piece.id),
        title=piece.title,
        score=studio.pieces.score(piece.id),
        file_name=piece.file_name,
        hands=student.hands or Hands(),
        reach_cm=reach_of(student),
        when=when_of(take),
    )


def when_of(take: TakeRecord) -> Any:
    """The day of a take on this machine's calendar."""
    assert take.recorded_at is not None
    return take.recorded_at.astimezone().date()


def keep_result(
    studio: Studio, number: int, piece: int, found: dict[str, Any]
) -> tuple[ItemResult, ...]:
    """Write down what was heard; gives what it says of the things on the plan, where that is news."""
    take = studio.takes.get(number)
    if take.piece_id != piece:
        return ()  # it was said meanwhile that it is of another piece
    if "failed" in found:
        studio.takes.set_result(number, "failed", {"why": found["failed"]}, None)
        return ()
    before = studio.takes.result(number, RESULT_VERSION)
    results: tuple[ItemResult, ...] = ()
    if before is not None:
        # It was heard before, and the plan has followed it: listening again must not count twice.
        changes = before.get("changes", [])
    else:
        results, changes = _results(studio, take, found["summary"])
    # Drawings go into the cache, which no archive brings in: what is put on a page as it is was always drawn here.
    page = dict(found["result"]["page"])
    studio.computed.put(music_key(take), json.dumps(page.pop("music")).encode())
    result = {"take": found["result"]["take"], "page": page, "changes": changes}
    studio.takes.set_result(number, "measured", found["summary"], result, RESULT_VERSION)
    return results


def _results(
    studio: Studio, take: TakeRecord, summary: dict[str, Any]
) -> tuple[tuple[ItemResult, ...], list[dict[str, Any]]]:
    """What the take says of the things on the plan, as the plan takes it and in words."""
    record = studio.plans.latest(take.student_id)
    plan = read_plan(record.body) if record else None
    if plan is None or "heard" not in summary:
        return (), []
    if _later_was_heard(studio, take):
        return (), []  # an old take that is brought late says nothing of how far things are now
    heard = stored.read(summary["heard"], TakeHeard, HEARD_FORMAT)
    results = results_of(heard, plan.items, plan.states)
    changes = []
    for row in results:
        item = plan.item(row.item)
        if item is not None:
            what, where = item_words(plan, item)
            changes.append({"what": what, "where": where, "well": row.well})
    return results, changes


def _later_was_heard(studio: Studio, take: TakeRecord) -> bool:
    rows = studio.takes.of_student(take.student_id, take.piece_id)
    assert take.recorded_at is not None
    return any(
        t.status == "measured" and t.recorded_at is not None and t.recorded_at > take.recorded_at
        for t in rows
        if t.id != take.id
    )


def waiting_job(jobs: Jobs, take: int) -> Job | None:
    """The job that listens to this take now."""
    return jobs.find(key_of(take))


def known_piece(studio: Studio, take: TakeRecord) -> Any:
    """The piece of a take; None where none is said or it is gone."""
    if take.piece_id is None:
        return None
    try:
        return studio.pieces.get(take.piece_id)
    except NotFoundError:
        return None

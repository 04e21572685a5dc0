"""A survey as a whole: errors are rows, nothing is read twice, the table does not depend on how it was made."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from passagework.survey import survey as surveys
from passagework.survey.errors import SurveyError
from passagework.survey.reader import Limits
from passagework.survey.survey import Settings, Summary, make_survey
from tests.survey.conftest import SCORES, UNREADABLE, rows, survey, table, write_score


@pytest.mark.usefixtures("at_home")
def test_every_score_is_a_row_in_order_of_path(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.parquet"
    assert survey(library, out) == Summary(SCORES, SCORES, 0, UNREADABLE)
    found = table(out)
    paths = found.column("path").to_pylist()
    assert paths == sorted(paths)
    assert set(paths) == {
        "0.musicxml", "1.musicxml", "2.musicxml", "3.musicxml", "broken.musicxml",
        "more/deep/4.XML", "more/deep/5.XML", "more/empty.mxl",
    }  # fmt: skip
    errors = {p for p, e in zip(paths, found.column("error").to_pylist(), strict=True) if e}
    assert errors == {"broken.musicxml", "more/empty.mxl"}
    assert len(set(found.column("hash").to_pylist())) == SCORES
    assert found.column("size").to_pylist() == [(library / p).stat().st_size for p in paths]
    about = json.loads(found.schema.metadata[b"passagework"])
    assert about["format"] == "passagework.survey/1"
    assert found.schema.field("seconds").metadata[b"unit"] == b"s"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["library", "out.parquet"]


def test_the_table_is_the_same_with_more_readers_and_from_another_address(
    library: Path, tmp_path: Path
) -> None:
    one, two = tmp_path / "one.parquet", tmp_path / "two.parquet"
    survey(library, one, workers=1)
    survey(f"file://{library}", two, workers=2)
    assert table(one).equals(table(two), check_metadata=True)


@pytest.mark.usefixtures("at_home")
def test_scores_in_memory_are_handed_over(library: Path, tmp_path: Path) -> None:
    import fsspec

    memory = fsspec.filesystem("memory")
    memory.put(f"{library}/", "/songs/", recursive=True)
    try:
        here, there = tmp_path / "here.parquet", tmp_path / "there.parquet"
        survey(library, here)
        survey("memory://songs", there)
        without = [n for n in table(here).column_names if n != "modified"]
        assert table(here).select(without).equals(table(there).select(without))
        assert survey("memory://songs", there).measured == 0
    finally:
        memory.rm("/songs", recursive=True)


@pytest.mark.usefixtures("at_home")
def test_an_unchanged_score_is_not_read_again(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.parquet"
    survey(library, out)
    before, written = rows(out), out.stat()
    assert survey(library, out) == Summary(SCORES, 0, SCORES, 0)
    assert out.stat().st_mtime_ns == written.st_mtime_ns
    # Other bytes under the same size and time: were the file opened, its hash would be another one.
    score = library / "0.musicxml"
    times = score.stat()
    score.write_bytes(score.read_bytes().replace(b"copy 0", b"copy 7"))
    os.utime(score, ns=(times.st_atime_ns, times.st_mtime_ns))
    write_score(library / "new.musicxml", 8)
    (library / "1.musicxml").unlink()
    write_score(library / "2.musicxml", 9)
    os.utime(library / "2.musicxml", ns=(1, 10**18))
    os.utime(library / "3.musicxml", ns=(1, 2 * 10**18))
    # The new and the changed one are measured; of the touched one the bytes are looked at, and no more.
    assert survey(library, out) == Summary(SCORES, 2, SCORES - 2, 0)
    after = rows(out)
    assert after.keys() == before.keys() - {"1.musicxml"} | {"new.musicxml"}
    assert after["0.musicxml"] == before["0.musicxml"]
    assert after["2.musicxml"]["hash"] != before["2.musicxml"]["hash"]
    assert after["3.musicxml"] == before["3.musicxml"] | {"modified": 2 * 10**18}


@pytest.mark.usefixtures("at_home")
def test_a_library_that_moved_is_known_by_its_bytes(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.parquet"
    survey(library, out)
    before = table(out)
    moved = library.rename(tmp_path / "moved")
    score = moved / "0.musicxml"
    times = score.stat()
    score.write_bytes(score.read_bytes().replace(b"copy 0", b"copy 7"))
    os.utime(score, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert survey(moved, out).measured == 1
    assert table(out).slice(1).equals(before.slice(1))


@pytest.mark.usefixtures("at_home")
def test_another_hand_or_another_profile_is_measured_anew(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.rmtree(library / "more")
    out = tmp_path / "out.parquet"
    survey(library, out)
    assert survey(library, out, reach_cm=16.0).measured == 5
    assert set(table(out).column("reach_cm").to_pylist()) == {16.0}
    monkeypatch.setattr(surveys, "PROFILE_VERSION", 999)
    assert survey(library, out, reach_cm=16.0).measured == 5


@pytest.mark.usefixtures("at_home")
def test_a_stopped_run_goes_on_where_it_was(library: Path, tmp_path: Path) -> None:
    whole, out = tmp_path / "whole.parquet", tmp_path / "out.parquet"
    survey(library, whole)

    def stop_after_three(text: str) -> None:
        if text.startswith("3 of"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_survey(str(library), out, Settings(workers=1), stop_after_three)
    journal = tmp_path / "out.parquet.partial"
    assert not out.exists()
    lines = journal.read_bytes().splitlines()
    assert len(lines) == 4
    # The last line as a kill in the middle of a write would leave it.
    journal.write_bytes(journal.read_bytes()[:-40])
    assert survey(library, out) == Summary(SCORES, SCORES - 2, 2, UNREADABLE)
    assert table(out).equals(table(whole))
    assert not journal.exists()


@pytest.mark.usefixtures("at_home")
@pytest.mark.parametrize("change", ["another hand", "rubbish", "a score changed"])
def test_a_journal_that_does_not_hold_is_not_used(
    library: Path, tmp_path: Path, change: str
) -> None:
    out = tmp_path / "out.parquet"

    def stop(text: str) -> None:
        if text.startswith("4 of"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_survey(str(library), out, Settings(workers=1), stop)
    reach, left = 20.1, 4
    if change == "another hand":
        reach, left = 17.0, 0
    elif change == "rubbish":
        (tmp_path / "out.parquet.partial").write_bytes(b"\xff\x00 no journal\n[]\n")
        left = 0
    else:
        write_score(library / "0.musicxml", 77)
        os.utime(library / "0.musicxml", ns=(1, 10**18))
        left = 3
    done = survey(library, out, reach_cm=reach)
    assert done == Summary(SCORES, SCORES - left, left, done.errors)
    fresh = tmp_path / "fresh.parquet"
    survey(library, fresh, reach_cm=reach)
    assert table(out).equals(table(fresh))


def test_hostile_scores_cost_a_row_each(
    library: Path, tmp_path: Path, hostile_readers: Callable[[], None]
) -> None:
    hostile_readers()
    shutil.rmtree(library / "more")
    for number, name in enumerate(("crash", "greedy", "hang")):
        write_score(library / f"2-{name}.musicxml", 20 + number)
    (library / "gone.musicxml").symlink_to(library / "nowhere.musicxml")
    out = tmp_path / "out.parquet"
    limits = Limits(seconds=6.0, memory_mb=400.0)
    done = survey(library, out, workers=2, limits=limits)
    assert (done.scores, done.errors) == (9, 5)
    found = rows(out)
    kinds = {path: row["error_kind"] for path, row in found.items() if row["error"]}
    assert kinds == {
        "2-crash.musicxml": "crash", "2-greedy.musicxml": "memory", "2-hang.musicxml": "time",
        "broken.musicxml": "unreadable", "gone.musicxml": "file",
    }  # fmt: skip
    assert "6 seconds" in str(found["2-hang.musicxml"]["error"])
    assert "signal 6" in str(found["2-crash.musicxml"]["error"])
    assert found["3.musicxml"]["notes"]
    # What may have been bad luck is tried again; what cannot be read is not.
    (library / "2-hang.musicxml").unlink()
    assert survey(library, out, limits=limits).measured == 3


def test_a_reader_is_replaced_in_time(library: Path, tmp_path: Path) -> None:
    out, other = tmp_path / "out.parquet", tmp_path / "other.parquet"
    survey(library, out, limits=Limits(scores=3))
    survey(library, other)
    assert table(out).equals(table(other))


@pytest.mark.usefixtures("at_home")
@pytest.mark.skipif(os.name != "posix", reason="names of files that are no text")
def test_a_name_that_is_no_text_is_written_as_what_it_is(library: Path, tmp_path: Path) -> None:
    shutil.rmtree(library / "more")
    strange = os.path.join(os.fsencode(library), b"\xe9tude.musicxml")
    shutil.copy(os.fsencode(library / "0.musicxml"), strange)
    out = tmp_path / "out.parquet"
    assert survey(library, out).errors == 1
    assert rows(out)["\\xe9tude.musicxml"]["title"] == rows(out)["0.musicxml"]["title"]
    assert survey(library, out).measured == 0


def test_nothing_that_is_no_survey_is_overwritten(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.parquet"
    pq.write_table(pa.table({"mine": [1]}), out)
    before = out.read_bytes()
    with pytest.raises(SurveyError, match="no survey"):
        survey(library, out)
    out.write_bytes(b"a letter")
    with pytest.raises(SurveyError, match="no survey"):
        survey(library, out)
    assert len(before) > len(b"a letter")


def test_two_surveys_do_not_write_one_table(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.parquet"
    with surveys._locked(out), pytest.raises(SurveyError, match="another survey"):
        survey(library, out)


@pytest.mark.parametrize("address", ["nowhere", "memory://nowhere", "unheardof://x"])
def test_an_address_that_leads_nowhere_is_one_line(tmp_path: Path, address: str) -> None:
    with pytest.raises(SurveyError) as caught:
        survey(address, tmp_path / "out.parquet")
    assert "\n" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_scores_says_so(tmp_path: Path) -> None:
    with pytest.raises(SurveyError, match="no score below"):
        survey(tmp_path, tmp_path / "out.parquet")

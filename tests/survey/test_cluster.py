"""The same work on a Dask cluster: a scheduler and two worker processes on this machine."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from passagework.survey.errors import SurveyError
from passagework.survey.survey import Summary
from tests.survey.conftest import SCORES, UNREADABLE, survey, table, write_score

distributed = pytest.importorskip("distributed", reason="the cluster needs its extra")


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """The address of a scheduler with two workers, each a process, on the loopback."""
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
    ) as running:
        yield running.scheduler_address


def test_a_cluster_makes_the_same_table(cluster: str, library: Path, tmp_path: Path) -> None:
    (library / "gone.musicxml").symlink_to(library / "nowhere.musicxml")
    here, there = tmp_path / "here.parquet", tmp_path / "there.parquet"
    survey(library, here)
    done = survey(library, there, scheduler=cluster)
    assert done == Summary(SCORES + 1, SCORES + 1, 0, UNREADABLE + 1)
    assert table(there).equals(table(here), check_metadata=True)
    # And goes on from it, whoever made it; what is only in this process's memory is handed over.
    write_score(library / "new.musicxml", 11)
    (library / "gone.musicxml").unlink()
    assert survey(library, there, scheduler=cluster).measured == 1
    import fsspec

    memory = fsspec.filesystem("memory")
    memory.put(f"{library}/more/", "/cluster/", recursive=True)
    try:
        survey("memory://cluster", tmp_path / "memory.parquet", scheduler=cluster)
        found = table(tmp_path / "memory.parquet")
        inside = [p for p in table(there).column("path").to_pylist() if p.startswith("more/")]
        assert [f"more/{p}" for p in found.column("path").to_pylist()] == inside
    finally:
        memory.rm("/cluster", recursive=True)


def test_a_worker_that_ends_is_an_error_of_one_score(
    cluster: str, library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from passagework.survey import cluster as clusters

    monkeypatch.setattr(clusters, "measure_batch", batch_that_fails)
    out = tmp_path / "out.parquet"
    survey(library, out, scheduler=cluster)
    found = {r["path"]: r["error_kind"] for r in table(out).to_pylist()}
    assert {path for path, kind in found.items() if kind == "crash"} == {"2.musicxml"}
    assert len(found) == SCORES


def batch_that_fails(jobs: list[object], _limits: object) -> list[object]:
    """In the place of `measure_batch`: fails like a lost worker where one of the scores is among the jobs."""
    if any(job.path == "2.musicxml" for job in jobs):  # type: ignore[attr-defined]
        raise RuntimeError("lost")
    from passagework.survey.serve import measure_job

    return [measure_job(job) for job in jobs]  # type: ignore[arg-type]


def test_a_scheduler_that_does_not_answer_is_one_line(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("passagework.survey.cluster.CONNECT_S", 1)
    with pytest.raises(SurveyError, match="no scheduler answers"):
        survey(library, tmp_path / "out.parquet", scheduler="tcp://127.0.0.1:9")
    assert not (tmp_path / "out.parquet").exists()


def test_a_worker_of_another_version_is_refused(
    cluster: str, library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("passagework.survey.cluster.__version__", "999")
    with pytest.raises(SurveyError, match="this is 999"):
        survey(library, tmp_path / "out.parquet", scheduler=cluster)
    assert os.listdir(library)

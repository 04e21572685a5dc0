"""Long work in worker processes, with progress, cancelling, a time limit, and one clear line when it fails.

How to use it
-------------
A job is a function at the top level of a module, and plain (picklable) arguments. It runs in a worker process; its first
argument is `report`, to say how far it is. What it returns comes back to the server's process::

    def prepare(report: Report, score: bytes, name: str) -> bytes:          # in web/piece/work.py
        report(0.1, "Reading the score")
        ...
        report(0.6, "Engraving")
        return page_bytes

    job = jobs.submit(                                                        # in a route
        "piece", prepare, (score, name), key=f"piece:{digest}:{hand}",
        title="Preparing Evening Ferry", keep=lambda page: studio.cache.put(cache_key, page),
    )

* `key` tells jobs apart: while a job of that key is waiting or running, `submit` gives that one back instead of a second. Look
  into the studio's cache first; a job that is done is not looked for.
* `keep(result)` runs in the server's process, in a thread, before the job counts as done; there the result goes into the
  studio or its cache. The job's own result is remembered too (`jobs.result(id)`), for the last `FINISHED_KEPT` jobs.
* `near` is a name (a piece's hash) for which a worker may hold something in its own memory (module-level cache in your
  module): jobs that are near one another go to the same worker if it is free.
* `urgent=False` is for work that nobody looks at (a folder of scores being read): it waits for the rest and always leaves one
  worker free.
* A failure that is the input's: raise an exception with a message for the teacher, of a class named in `process.CLEAR`
  (`ScoreError`, `EngravingError`, `SoundError`, `ValueError` ...): its text becomes the job's `error`. Any other exception, a
  crash or a time-out gives a sentence that says so; the server goes on.
* In a route: `jobs: Jobs = request.app.state.jobs`, or the dependency `passagework.web.deps.JobsOf`.

The browser's side
------------------
``GET /jobs/{id}`` gives ``{"id", "kind", "title", "state", "progress", "words", "error"}``: `state` is ``waiting``, ``running``,
``done``, ``failed`` or ``cancelled``, `progress` 0 to 1 or null. ``POST /jobs/{id}/cancel`` (with the token) ends it.
In a template, ``{% from "macros.html" import job_progress %}`` ``{{ job_progress(job, "/pieces/12") }}`` draws the bar with a cancel
button and goes on to the address when the job is done (`static/jobs.js`; without scripts the page renews itself).
From a module: ``import { follow } from "/static/jobs.js"; await follow(id, job => ...)``.
"""

from passagework.web.jobs.queue import FINISHED_KEPT, Jobs, UnknownJobError
from passagework.web.jobs.state import Job, Report

__all__ = ["FINISHED_KEPT", "Job", "Jobs", "Report", "UnknownJobError"]

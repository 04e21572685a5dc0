"""What routes ask for: ``def show(studio: StudioOf, jobs: JobsOf, number: Id)``."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import Depends, Path, Request

from passagework.studio.studio import Studio
from passagework.web.jobs import Jobs
from passagework.web.settings import Settings

LARGEST_ID: Final = 2**53 - 1
"""The largest whole number that every program on the way keeps exactly."""


def _studio(request: Request) -> Studio:
    studio: Studio = request.app.state.studio
    return studio


def _jobs(request: Request) -> Jobs:
    jobs: Jobs = request.app.state.jobs
    return jobs


def _settings(request: Request) -> Settings:
    settings: Settings = request.app.state.settings
    return settings


StudioOf = Annotated[Studio, Depends(_studio)]
"""The studio."""
JobsOf = Annotated[Jobs, Depends(_jobs)]
"""The queue of long work."""
SettingsOf = Annotated[Settings, Depends(_settings)]
"""How the page is served."""
Id = Annotated[int, Path(ge=1, le=LARGEST_ID)]
"""A number in the path that names a row."""

"""The library's question as the address of a page, and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final
from urllib.parse import urlencode

from pydantic import Field

from passagework.studio.piece_records import Between, PieceQuery
from passagework.web.forms import LONGEST_LINE, Filled, FormError, number

PAGE_SIZE: Final = 50
MOST_BARS: Final = 100_000
MOST_MINUTES: Final = 10_000

Short = Annotated[str, Field(max_length=LONGEST_LINE)]

SORTS: Final = (
    ("title", "title"),
    ("composer", "composer"),
    ("level", "difficulty"),
    ("bars", "number of bars"),
    ("minutes", "length"),
    ("added", "when it was brought in"),
    ("relevance", "how well the words fit"),
)


class Question(Filled):
    """What the search form holds."""

    text: Short = ""
    composer: Short = ""
    key: Short = ""
    metre: Short = ""
    tag: Short = ""
    collection: Short = ""
    level_list: Short = ""
    level: Short = ""
    bars_from: Short = ""
    bars_to: Short = ""
    minutes_to: Short = ""
    kind: Short = ""
    student: Annotated[int, Field(ge=0, le=2**53 - 1)] = 0
    studied: Short = ""
    sort: Short = "title"
    down: bool = False
    deleted: bool = False
    page: Annotated[int, Field(ge=1, le=1_000_000)] = 1

    @property
    def narrowed(self) -> bool:
        """Whether anything is asked for beyond words and order."""
        return bool(
            self.composer or self.key or self.metre or self.tag or self.collection or self.level_list
            or self.bars_from or self.bars_to or self.minutes_to or self.studied or self.kind
        )  # fmt: skip

    def query(self) -> PieceQuery:
        """What the studio is asked. Raises `FormError` for numbers that are none."""
        numbers = {f"kind:{self.kind}": Between(1e-9, None)} if self.kind else {}
        return PieceQuery(
            text=self.text,
            composer=self.composer,
            key=self.key,
            metre=self.metre,
            tag=self.tag,
            collection=self.collection,
            level_list=self.level_list,
            level_labels=(self.level,) if self.level else (),
            bars=_between(
                number(self.bars_from, "The fewest bars", 0, MOST_BARS),
                number(self.bars_to, "The most bars", 0, MOST_BARS),
            ),
            minutes=_between(None, number(self.minutes_to, "The minutes", 0, MOST_MINUTES)),
            numbers=numbers,
            studied_by=self.student if self.studied == "yes" and self.student else None,
            not_studied_by=self.student if self.studied == "no" and self.student else None,
            deleted=self.deleted,
            sort=self.sort if self.sort in dict(SORTS) or ":" in self.sort else "title",
            descending=self.down,
            page=self.page,
            page_size=PAGE_SIZE,
        )

    def address(self, **changes: object) -> str:
        """The library's address with this question, and `changes` to it."""
        empty = Question()
        fields: Mapping[str, object] = {**self.model_dump(), "page": 1, **changes}
        kept = {
            name: (str(value).lower() if isinstance(value, bool) else value)
            for name, value in fields.items()
            if value != getattr(empty, name)
        }
        return f"/library?{urlencode(kept)}" if kept else "/library"


def asked_or_plain(question: Question) -> tuple[PieceQuery, str]:
    """The query, and what is wrong with the question where it cannot be meant (the query is then for its words alone)."""
    try:
        return question.query(), ""
    except FormError as error:
        return PieceQuery(text=question.text, page_size=PAGE_SIZE), str(error)


def _between(low: float | None, high: float | None) -> Between | None:
    return None if low is None and high is None else Between(low, high)

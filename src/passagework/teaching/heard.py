"""What a take changes: which bars were played securely, what that says of the skills, and what comes back sooner in the plan.

Rules
-----
* A bar is *secure* in a take where its last playing was with both hands, at tempo, and no finding of any weight lies in it.
* At tempo is `AT_TEMPO` of what the page asks; where the page asks for none, and the tempo is assumed, `AT_ASSUMED`.
* A take shows a kind of difficulty to be secure as hard as the hardest of its occurrences that lie wholly in secure bars.
* A take of which too little fits the piece says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from passagework.demands.measure import hardness
from passagework.demands.profile import Demands
from passagework.exercises.words import DONE_SHARE
from passagework.listening.finding import Finding
from passagework.listening.heard import Heard
from passagework.spots.spot import Candidate
from passagework.teaching.items import Item
from passagework.teaching.progress import ItemResult, ItemState
from passagework.teaching.student import FindingHeard, Shown, TakeHeard

AT_TEMPO = DONE_SHARE
"""Share of the tempo from which a bar is at tempo: the same as in the tests of the exercises."""

AT_ASSUMED = 0.7
"""The same where the score gives no tempo: what is assumed may be wrong by a third (`passagework.analysis.tempo_words`)."""

LEAST_FIT = 0.5
"""Share of the played notes that must be the piece's."""

FAINT = 0.15
"""Weight of a finding below which a teacher would let it pass. A planning value."""

HEAVY = 0.4
"""Weight from which a single finding sends a whole section back. A planning value."""

SURE = 0.5
"""How sure a finding must be to change anything."""

MOST_WRONG, LEAST_SECURE = 0.25, 0.9
"""Share of a section's bars with findings from which it went wrong, and share that must be secure for it to have gone well."""

MOST_BARS = 4
"""Bars that are kept as evidence for a kind."""

FROM_THE_NOTES = ("hands", "together", "tempo")
"""Layers that a take at tempo without a finding shows to be learned; learning by heart and polish it does not show."""


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """How a bar was played the last time."""

    bar: int
    both_hands: bool
    tempo_share: float | None
    """Its tempo against the page's; None where it cannot be told."""
    tempo_given: bool
    """Whether the page gives a tempo."""
    clean: bool
    """Whether no finding lies in it."""

    @property
    def secure(self) -> bool:
        """Whether the bar was played as it should be."""
        least = AT_TEMPO if self.tempo_given else AT_ASSUMED
        at_tempo = self.tempo_share is not None and self.tempo_share >= least
        return self.both_hands and at_tempo and self.clean


def hear(
    take_id: str,
    piece_id: str,
    title: str,
    when: date,
    heard: Heard,
    findings: Sequence[Finding],
    demands: Demands,
    occurrences: Mapping[str, Sequence[Candidate]] | None = None,
) -> TakeHeard:
    """What is kept of a take for teaching.

    `occurrences` are those of `passagework.demands.reference.reference_candidates`; without them only the bars that the profile
    names are known to hold a kind.
    """
    if heard.alignment.fit < LEAST_FIT:
        return TakeHeard(take_id, piece_id, title, when, (), ())
    counted = [f for f in findings if f.weight >= FAINT and f.confidence >= SURE]
    rows = played_bars(heard, counted)
    secure = tuple(r.bar for r in rows if r.secure)
    shares = [r.tempo_share for r in rows if r.tempo_share is not None]
    return TakeHeard(
        take_id,
        piece_id,
        title,
        when,
        tuple(r.bar for r in rows),
        secure,
        shown(frozenset(secure), demands, occurrences),
        tuple(
            FindingHeard(f.kind, f.first_bar, f.last_bar, round(f.weight, 3), f.spot_kinds)
            for f in counted
        ),
        round(median(shares), 3) if shares else None,
    )


def played_bars(heard: Heard, findings: Iterable[Finding]) -> tuple[PlayedBar, ...]:
    """Every bar that was played, as it was played last, in order of bars. Linear in bars and findings."""
    wrong: dict[int, set[int]] = {}
    everywhere: set[int] = set()
    for finding in findings:
        bars = range(finding.first_bar, finding.last_bar + 1)
        everywhere.update(() if finding.runs else bars)
        for run in finding.runs:
            wrong.setdefault(run, set()).update(bars)
    one_handed = len({n.hand for n in heard.piece.notes}) < 2
    result: dict[int, PlayedBar] = {}
    for run, way in enumerate(heard.alignment.passes):
        beat = heard.beats[run]
        tempos = beat.bar_tempos if beat is not None else {}
        for bar in range(way.first_bar, way.last_bar + 1):
            span = heard.context.tempo.steady_at(heard.piece.bars[bar].onset)
            share = tempos[bar] / span.quarters_per_minute if bar in tempos else None
            result[bar] = PlayedBar(
                bar,
                way.hand == "both" or one_handed,
                share,
                span.source != "assumed",
                bar not in everywhere and bar not in wrong.get(run, ()),
            )
    return tuple(result[bar] for bar in sorted(result))


def shown(
    secure: frozenset[int],
    demands: Demands,
    occurrences: Mapping[str, Sequence[Candidate]] | None = None,
) -> tuple[Shown, ...]:
    """What bars that were played securely show of each kind of difficulty."""
    rows: list[Shown] = []
    for kind, demand in sorted(demands.kinds.items()):
        if occurrences is not None:
            inside = sorted(
                (c for c in occurrences.get(kind, ()) if _inside(c, secure)),
                key=lambda c: (-c.severity, c.first_bar),
            )
            bars = tuple(dict.fromkeys(c.first_bar for c in inside))[:MOST_BARS]
            value = hardness(inside[0].severity) if inside else 0.0
        else:
            bars = tuple(b for b in demand.bars if b in secure)
            hardest = bool(bars) and bars[0] == demand.bars[0]
            value = demand.hardest if hardest else min(demand.typical, demand.hardest)
        if bars and value > 0:
            rows.append(Shown(kind, round(min(value, demand.hardest or value), 4), bars))
    return tuple(rows)


def _inside(candidate: Candidate, secure: frozenset[int]) -> bool:
    return all(b in secure for b in range(candidate.first_bar, candidate.last_bar + 1))


def results_of(
    take: TakeHeard, items: Iterable[Item], states: Mapping[str, ItemState]
) -> tuple[ItemResult, ...]:
    """What the take says of the items of a plan: which went well, and which went wrong and come back sooner.

    Of a section's layers the farthest that is begun went wrong; hands, together and tempo went well where the section did.
    """
    own = [i for i in items if i.piece_id == take.piece_id]
    rows: list[ItemResult] = []
    for item in own:
        if item.what == "spot":
            verdict = _spot_went(take, item)
        else:
            verdict = _section_went(take, item)
            if verdict is True and item.layer not in FROM_THE_NOTES:
                verdict = None
            if verdict is False and not _farthest(item, own, states):
                verdict = None
        if verdict is not None:
            rows.append(ItemResult(item.id, verdict, take.when))
    return tuple(rows)


def _spot_went(take: TakeHeard, item: Item) -> bool | None:
    bars = set(item.bars)
    if any(
        bars & set(range(f.first_bar, f.last_bar + 1))
        and (not f.spot_kinds or item.kind in f.spot_kinds)
        for f in take.findings
    ):
        return False
    played = bars & set(take.played)
    return True if 2 * len(played) >= len(bars) and played <= set(take.secure) else None


def _section_went(take: TakeHeard, item: Item) -> bool | None:
    bars = set(item.bars)
    here = [f for f in take.findings if bars & set(range(f.first_bar, f.last_bar + 1))]
    wrong = {b for f in here for b in range(f.first_bar, f.last_bar + 1)} & bars
    if any(f.weight >= HEAVY for f in here) or len(wrong) > MOST_WRONG * len(bars):
        return False
    return True if len(bars & set(take.secure)) >= LEAST_SECURE * len(bars) else None


def _farthest(item: Item, items: Iterable[Item], states: Mapping[str, ItemState]) -> bool:
    """Whether `item` is the last layer of its section that is begun; the first layer where none is."""
    layers = [i for i in items if i.what == "section" and i.of == item.of]
    begun = [i for i in layers if i.id in states and states[i.id].begun is not None]
    return item == (begun[-1] if begun else layers[0])

"""The programme lead asks: how often was the tool right here?

Learnt from the earlier days of the log alone, it is asked for a chance before each later attempt,
and that is held against what happened. Nothing of a day or later is known to what is said of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

import numpy as np
from django.db.models import Count

from progress.engine.log import Log
from progress.engine.predictions import Predictions, said_before, split_day
from progress.engine.report_card import ReportCard, report_card
from progress.engine.terms import Catalogue
from progress.models import Athlete, Attempt, Ladder, Skill, Tier
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import stored_priors
from progress.usecases.engine_inputs import Holds, end_of, read_log
from progress.usecases.judge_card import LEAST_LEARNT, Verdict, judge_card, more_needed
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow
from progress.usecases.tiers_then import tiers_then

MOST_JUDGED = 20_000  # the last so many attempts: more would take long and say the same
MOST_READ = 120_000  # of a longer log, that of children drawn by lot is read


@dataclass(frozen=True)
class Judged:
    """The card as of the end of ``until``, and what it was made from.

    ``card`` is None where there is too little to learn from. ``learnt_from`` and ``judged``
    attempts lie before and from ``first_day`` on; ``children`` are the athletes of the log, drawn
    by lot from ``of_children`` where the log is very long. ``more_needed``: attempts still to come
    before the card says anything, 0 where there are enough.
    """

    until: date
    first_day: date | None
    learnt_from: int
    judged: int
    children: int
    of_children: int
    more_needed: int
    card: ReportCard | None


@dataclass(frozen=True)
class CardSeen:
    """The card with its verdict, and the names of ladders by code and tiers by number."""

    judged: Judged
    verdict: Verdict
    ladders: dict[str, str]
    tiers: dict[int, str]


def see_report_card(*, today: date) -> CardSeen:
    """The report card, worked out once a day: nine queries, or twenty where it is not kept."""
    judged = kept_until_tomorrow(question="report card", today=today, work_out=judge_engine)
    return CardSeen(
        judged=judged,
        verdict=judge_card(judged.card),
        ladders=dict(Ladder.objects.values_list("code", "name")),
        tiers=dict(Tier.objects.values_list("number", "name")),
    )


def judge_engine(
    until: date, *, most_judged: int = MOST_JUDGED, most_read: int = MOST_READ
) -> Judged:
    """Learn from the first days, predict the later ones: up to the end of ``until``.

    Everybody with attempts counts, those who left as well. The more there is, the later the first
    judged day, so that at most about ``most_judged`` attempts are predicted.
    """
    catalogue = as_catalogue(Skill.objects.with_needs())
    everybody = _with_attempts(until)
    athletes = _drawn(everybody, most_read)
    log = read_log(catalogue, athletes, until)
    first = first_judged_day(log, most_judged) if len(log) else None
    learnt = 0 if first is None else int((log.day < first).sum())
    card = None
    if first is not None and learnt >= LEAST_LEARNT:
        said, tiers = _said(catalogue, athletes, log, first, until)
        card = report_card(catalogue, tiers, log, said, first)
    return Judged(
        until=until,
        first_day=None if first is None else date.fromordinal(first),
        learnt_from=learnt,
        judged=len(log) - learnt,
        children=len(athletes),
        of_children=len(everybody),
        more_needed=more_needed(learnt=learnt, judged=len(log) - learnt),
        card=card,
    )


def _said(
    catalogue: Catalogue, athletes: Sequence[Athlete], log: Log, first: int, until: date
) -> tuple[Predictions, tuple[int, ...]]:
    """What was said before each judged attempt, and the tiers it was said with.

    The tiers are those in which the first judged day began: a tier given later tells how it went.
    """
    tiers = tiers_then(athletes=athletes, day=date.fromordinal(first) - timedelta(days=1))
    pauses = Holds.read(athletes, until).stretches(athletes)
    return said_before(catalogue, tiers, log, first, stored_priors(), pauses), tiers


def first_judged_day(log: Log, most_judged: int) -> int:
    """Where the engine's usual split lies, or later where that leaves too many attempts to judge.

    At least the last day is judged, however much happened on it.
    """
    usual, days = split_day(log), np.sort(log.day)
    if len(days) <= most_judged:
        return usual
    return max(usual, min(int(days[-most_judged - 1]) + 1, int(days[-1])))


def _with_attempts(until: date) -> list[tuple[Athlete, int]]:
    """Athletes with attempts up to the end of ``until``, and how many."""
    standing = Attempt.objects.standing().filter(at__lt=end_of(until)).order_by()
    counts = dict(standing.values_list("athlete_id").annotate(Count("pk")))
    athletes = Athlete.objects.in_bulk(counts) if len(counts) < 500 else Athlete.objects.in_bulk()
    found = [(athletes[key], count) for key, count in counts.items()]
    return sorted(found, key=lambda one: one[0].code)


def _drawn(everybody: Sequence[tuple[Athlete, int]], most_read: int) -> list[Athlete]:
    """All of them, or as many as stay below ``most_read`` attempts, in the order of codes.

    The lot is a digest of the code, so the same children are drawn every time.
    """
    if sum(count for _, count in everybody) <= most_read:
        return [athlete for athlete, _ in everybody]
    by_lot = sorted(everybody, key=lambda one: sha256(one[0].code.encode()).digest())
    total = np.cumsum([count for _, count in by_lot])
    drawn = by_lot[: max(1, int(np.searchsorted(total, most_read, side="right")))]
    return sorted((athlete for athlete, _ in drawn), key=lambda athlete: athlete.code)

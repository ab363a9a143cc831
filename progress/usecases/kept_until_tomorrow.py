"""Keep long answers about the whole gym for the rest of the day.

Some of what a lead asks is worked out from every attempt on record. Such an answer is given as of
the end of yesterday, so it stays the same all day and is worked out once.
"""

from collections.abc import Callable
from datetime import date, timedelta
from hashlib import sha256
from typing import TypeVar

from django.core.cache import cache
from django.db.models import Max

from progress.engine.parameters import VERSION
from progress.models import Attempt, Calibration, Hold, RuleBook, SignOff, SkillChange
from progress.usecases.engine_inputs import end_of

Answer = TypeVar("Answer")
ONE_DAY = 24 * 60 * 60


def yesterday(today: date) -> date:
    """The last whole day: what such an answer knows of."""
    return today - timedelta(days=1)


def kept_until_tomorrow(
    *, question: str, today: date, work_out: Callable[[date], Answer], of: str = ""
) -> Answer:
    """The answer to ``question``, worked out once a day by ``work_out`` from what it is given.

    ``work_out`` gets the day until whose end records count. ``of`` tells answers to one question
    apart, as for one class. Worked out anew where earlier attempts, rules, skills, holds, sign-offs
    or the calibration changed meanwhile. Six small queries. The answer must be picklable.
    """
    until = yesterday(today)
    kept: tuple[Answer] | None = cache.get(_key(question, of, until))
    if kept is None:
        kept = (work_out(until),)
        # Asked again, because a gym never calibrated has been by now.
        cache.set(_key(question, of, until), kept, ONE_DAY)
    return kept[0]


def _key(question: str, of: str, until: date) -> str:
    parts = (question, of, until, VERSION, *_latest(until))
    return "answer-" + sha256(repr(parts).encode()).hexdigest()


def _latest(until: date) -> tuple[object, ...]:
    """What tells whether anything the answers rest on is new."""
    attempts = Attempt.objects.filter(at__lt=end_of(until)).order_by("-pk")
    return (
        attempts.values_list("pk", flat=True).first(),
        RuleBook.in_force().version,
        SkillChange.objects.aggregate(last=Max("pk"))["last"],
        Calibration.objects.aggregate(last=Max("pk"))["last"],
        tuple(Hold.objects.aggregate(Max("pk"), Max("lifted")).values()),
        tuple(SignOff.objects.aggregate(Max("pk"), Max("undone_at")).values()),
    )

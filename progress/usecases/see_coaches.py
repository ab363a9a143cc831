"""The lead asks: do our coaches mark alike, and who should check a few children together?

Nothing here is about whether a coach is good. A strict eye and a generous eye both teach well;
children's numbers are only fairer where both know of it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from scipy.special import expit, logit

from progress.engine.log import UNKNOWN, Log
from progress.engine.one_sided import recorded
from progress.engine.outcomes import CLEAN
from progress.engine.proportions import reach
from progress.engine.severity import (
    CheckTogether,
    Severities,
    severities,
    who_should_check_together,
)
from progress.engine.terms import Catalogue
from progress.models import Athlete, Role, Skill, StaffMember
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import learnt_by
from progress.usecases.compare_double_checks import Agreement, compare_double_checks
from progress.usecases.engine_inputs import Holds, read_log
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow

LEAST_TRIES = 60  # of a coach, before anything is said; about a month of checks
OTHERS_GIVE = 0.80  # the everyday example on which severity is told
WORTH_A_TALK = 0.25  # logits: where others give 80%, about four in a hundred more or less
MOST_PAIRS = 3
MOST_SKILLS = 3
LATELY = timedelta(weeks=12)
SEEN_BY_EACH = 3  # tries of a skill by each of two coaches lately, before it is proposed


@dataclass(frozen=True)
class CoachSeen:
    """How a coach marks against the others: ``gives`` clean where they give OTHERS_GIVE, 90% sure
    between ``low`` and ``high``. These are None where there are too few tries or no others."""

    code: str
    name: str
    tries: int
    gives: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class PairSeen:
    """Two coaches who would gain most from checking the same children.

    ``other_gives`` clean where ``one`` gives OTHERS_GIVE, by the best guess; None where one of
    them has too few tries to guess. ``skills`` by name, those that could tell most.
    """

    one: str
    other: str
    other_gives: float | None
    double_checks: int
    skills: tuple[str, ...]


@dataclass(frozen=True)
class OneSided:
    """A coach of whom hardly anything but clean tries is on record: ``short`` of ``tries``.

    ``name`` is empty where that holds of the whole gym.
    """

    name: str
    tries: int
    short: int


@dataclass(frozen=True)
class CoachesSeen:
    """The answer as of the end of ``until``; coaches by name, never by severity."""

    until: date
    coaches: tuple[CoachSeen, ...]
    pairs: tuple[PairSeen, ...]
    agreement: Agreement
    one_sided: tuple[OneSided, ...] = ()


def see_coaches(*, today: date) -> CoachesSeen:
    """How alike the coaches mark, from every attempt on record until yesterday."""
    return kept_until_tomorrow(question="coaches", today=today, work_out=_work_out)


def _work_out(until: date) -> CoachesSeen:
    skills = {skill.code: skill for skill in Skill.objects.with_needs()}
    catalogue = as_catalogue(skills.values())
    athletes = list(Athlete.objects.order_by("code"))
    log = read_log(catalogue, athletes, until)
    if not len(log) or not log.coaches:
        return CoachesSeen(until, (), (), Agreement(0, None, None, ()))
    learnt = learnt_by(catalogue=catalogue, today=until + timedelta(days=1))
    parameters = learnt.knowing(log.variants).parameters
    tiers = [athlete.tier_id for athlete in athletes]
    pauses = Holds.read(athletes, until).stretches(athletes)
    found = severities(catalogue, tiers, log, parameters, pauses)
    here = StaffMember.objects.filter(active=True, role__in=(Role.COACH, Role.LEAD))
    names = dict(here.order_by("name", "code").values_list("code", "name"))
    tries = _tries(log)
    return CoachesSeen(
        until=until,
        coaches=_coaches(found, tries, names),
        pairs=_pairs(catalogue, log, found, tries, names, skills, until),
        agreement=compare_double_checks(catalogue, tiers, log, parameters, pauses),
        one_sided=_one_sided(log, names),
    )


def _one_sided(log: Log, names: Mapping[str, str]) -> tuple[OneSided, ...]:
    """The gym alone where it holds of all of it, else the coaches here of whom it does."""
    found = [one for one in recorded(log) if one.one_sided]
    if found and found[0].coach is None:
        return (OneSided("", found[0].tries, found[0].short_of_clean),)
    here = [one for one in found if one.coach in names]
    asked = [OneSided(names[str(one.coach)], one.tries, one.short_of_clean) for one in here]
    return tuple(sorted(asked, key=lambda one: one.name))


def _tries(log: Log) -> dict[str, int]:
    counts = np.bincount(log.coach[log.coach != UNKNOWN], minlength=len(log.coaches))
    return dict(zip(log.coaches, counts.tolist(), strict=True))


def _coaches(
    found: Severities, tries: Mapping[str, int], names: Mapping[str, str]
) -> tuple[CoachSeen, ...]:
    """Every coach who works here and has tries on record, by name."""
    known = [place for place, code in enumerate(found.coaches) if tries[code] >= LEAST_TRIES]
    place = {code: number for number, code in enumerate(found.coaches)}
    return tuple(
        _against_others(found, place[code], known, CoachSeen(code, name, tries[code]))
        for code, name in names.items()
        if tries.get(code)
    )


def _against_others(
    found: Severities, coach: int, known: Sequence[int], plain: CoachSeen
) -> CoachSeen:
    """With what the coach gives where the others, each counting once, give OTHERS_GIVE."""
    others = [one for one in known if one != coach]
    if coach not in known or not others:
        return plain
    contrast = np.zeros(len(found.coaches))
    contrast[others] = -1 / len(others)
    contrast[coach] = 1.0
    value = float(contrast @ found.value)
    half = reach(found.level) * float(np.sqrt(contrast @ found.covariance @ contrast))
    return CoachSeen(
        code=plain.code,
        name=plain.name,
        tries=plain.tries,
        gives=gives(value),
        low=gives(value + half),
        high=gives(value - half),
    )


def gives(stricter: float) -> float:
    """The share of clean tries by somebody so much stricter, where others give OTHERS_GIVE."""
    return float(expit(logit(OTHERS_GIVE) - stricter))


def _pairs(
    catalogue: Catalogue,
    log: Log,
    found: Severities,
    tries: Mapping[str, int],
    names: Mapping[str, str],
    skills: Mapping[str, Skill],
    until: date,
) -> tuple[PairSeen, ...]:
    """The pairs of coaches here who may differ enough to be worth a talk, the likeliest first."""
    worth = [
        pair
        for pair in who_should_check_together(log, found)
        if pair.one in names and pair.other in names and pair.expected_gap >= WORTH_A_TALK
    ]
    return tuple(
        PairSeen(
            one=names[pair.one],
            other=names[pair.other],
            other_gives=_other_gives(pair, tries),
            double_checks=pair.double_checks,
            skills=tuple(
                str(skills[catalogue.skills[column].code])
                for column in telling_skills(log, pair, until)
            ),
        )
        for pair in worth[:MOST_PAIRS]
    )


def _other_gives(pair: CheckTogether, tries: Mapping[str, int]) -> float | None:
    enough = min(tries[pair.one], tries[pair.other]) >= LEAST_TRIES
    return gives(-pair.difference) if enough else None


def telling_skills(log: Log, pair: CheckTogether, until: date) -> list[int]:
    """Columns of the skills that could tell most about two coaches: clean about half the time.

    Skills that both marked lately go first; a skill that everybody does, or nobody, tells nothing.
    """
    late = log.rows(log.day > (until - LATELY).toordinal())
    size = int(log.skill.max(initial=-1)) + 1
    tried = np.bincount(late.skill, minlength=size)
    clean = np.bincount(late.skill[late.result == CLEAN], minlength=size)
    each = [
        np.bincount(late.skill[late.coach == log.coaches.index(code)], minlength=size)
        for code in (pair.one, pair.other)
    ]
    both = np.minimum(*each) >= SEEN_BY_EACH
    off_half = np.abs(clean / np.maximum(tried, 1) - 0.5)
    order = [column for column in np.lexsort((off_half, ~both)).tolist() if tried[column]]
    return order[:MOST_SKILLS]

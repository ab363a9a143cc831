"""The programme lead asks: who may move up, who is held back, whom should we look at again?"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import (
    Case,
    CharField,
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    TextField,
    Value,
    When,
)
from django.db.models.functions import Cast, Floor, Lower, StrIndex

from progress.engine.answers import Readiness
from progress.engine.terms import Decision
from progress.models import Athlete, Enrolment, GymClass, Hold, Skill, Standing, Tier
from progress.usecases.standings.basis import ground_of
from progress.usecases.standings.keep_up import Freshness, bring_up_to_date

# How decisions sort wherever they are listed: those a lead can act on first.
ORDER = (Decision.READY, Decision.NEARLY, Decision.NEEDS_CHECKS, Decision.BUILDING)
TOP, UNKNOWN = "top", "unknown"  # said where there is no decision: no tier above, no answer yet
SAYINGS = (*(decision.value for decision in ORDER), UNKNOWN, TOP)
WORKED_OUT_AT_ONCE = 600  # more than these would keep the lead waiting: then a button asks

# Athletes as rows: what is added to them by the queries below has no place in the models.
Rows = QuerySet[Any]


@dataclass(frozen=True)
class Board:
    """Every current athlete with the stored answer about them; read row by row.

    ``athletes`` carry ``says``, one of SAYINGS: the decision, or TOP, or UNKNOWN where nothing was
    worked out for the tier they are in now. ``skills`` by code, in catalogue order.
    """

    athletes: Rows
    freshness: Freshness
    skills: Mapping[str, Skill]
    tiers: tuple[Tier, ...]
    classes: tuple[GymClass, ...]
    today: date


def see_board(*, today: date) -> Board:
    """Bring the answers up to date unless too many wait, then lay the board out.

    Four queries where nobody waits; the athletes are read when asked for.
    """
    ground = ground_of(today=today)
    freshness = bring_up_to_date(today=today, at_most=WORKED_OUT_AT_ONCE, ground=ground)
    skills = ground.skills
    return Board(
        athletes=_current(skills, today),
        freshness=freshness,
        skills=skills,
        tiers=tuple(sorted({skill.tier for skill in skills.values()}, key=_number)),
        classes=tuple(GymClass.objects.all()),
        today=today,
    )


def _number(tier: Tier) -> int:
    return tier.number


def _current(skills: Mapping[str, Skill], today: date) -> Rows:
    """Current athletes; an answer for a tier they have left since is no answer."""
    top = max((skill.tier_id for skill in skills.values()), default=0)
    says = Case(
        When(tier__gte=top, then=Value(TOP)),
        When(Q(standing__tier=F("tier")) & ~Q(standing__decision=""), then="standing__decision"),
        default=Value(UNKNOWN),
        output_field=CharField(),
    )
    return Athlete.objects.here_on(today).select_related("tier", "standing").annotate(says=says)


def readiness_of(athlete: Athlete) -> Readiness | None:
    """The stored answer about a row of the board in the engine's words; None where there is none.

    For an athlete in the top tier ``next_tier`` is None, whatever is stored.
    """
    says: str = getattr(athlete, "says", UNKNOWN)
    stored: Standing | None = getattr(athlete, "standing", None)
    if says == TOP:
        return Readiness(
            athlete.code, athlete.tier_id, None, Decision.NEEDS_CHECKS, 0.0, (), (), ()
        )
    if says == UNKNOWN or stored is None:
        return None
    return Readiness(
        athlete=athlete.code,
        tier=athlete.tier_id,
        next_tier=stored.next_tier,
        decision=Decision(stored.decision),
        p_ready=stored.p_ready or 0.0,
        holding_back=tuple(stored.holding_back),
        reasons=tuple(stored.reasons),
        would_change=tuple(stored.would_change),
    )


def is_old(athlete: Athlete, today: date) -> bool:
    """Whether the stored answer is of another day, or something was recorded since."""
    stored: Standing | None = getattr(athlete, "standing", None)
    return stored is not None and (stored.on_day != today or stored.worked_out != stored.changes)


def counts_by_saying(athletes: Rows) -> dict[str, int]:
    """How many rows say what: one query."""
    counted = athletes.order_by().values_list("says").annotate(Count("pk"))
    return dict.fromkeys(SAYINGS, 0) | dict(counted)


# What stands beside the answers: classes and holds


def _running(today: date) -> "QuerySet[Enrolment]":
    found = Enrolment.objects.running_on(today).select_related("gym_class")
    return found.order_by("gym_class__weekday", "gym_class__starts_at", "gym_class__name")


def _in_force(today: date) -> "QuerySet[Hold]":
    return Hold.objects.on(today).prefetch_related("ladders")


def with_classes_and_holds(athletes: Rows, today: date) -> Rows:
    """For a page of rows: three queries more, for the rows that are read alone."""
    return athletes.prefetch_related(
        Prefetch("enrolments", _running(today), to_attr="running"),
        Prefetch("holds", _in_force(today), to_attr="in_force"),
    )


def all_with_classes_and_holds(athletes: Rows, today: date) -> list[Athlete]:
    """For every row at once: four queries, none of which lists the athletes one by one."""
    running = _by_athlete(_running(today))
    in_force = _by_athlete(_in_force(today))
    found = list(athletes)
    for athlete in found:
        vars(athlete)["running"] = running.get(athlete.pk, [])
        vars(athlete)["in_force"] = in_force.get(athlete.pk, [])
    return found


def _by_athlete(records: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for one in records:
        found.setdefault(one.athlete_id, []).append(one)
    return found


def class_names(athlete: Athlete) -> str:
    """The classes a row is in today, in the week's order."""
    names = (enrolment.gym_class.name for enrolment in vars(athlete)["running"])
    return ", ".join(dict.fromkeys(names))


def holds_in_force(athlete: Athlete) -> tuple[Hold, ...]:
    """The holds that stop a row today, newest first."""
    return tuple(vars(athlete)["in_force"])


# Narrowing the board

_NEVER = Q(standing__on_day__isnull=False, standing__last_checked__isnull=True)


def named(athletes: Rows, words: str) -> Rows:
    """Those in whose name or code each of the words is found."""
    for word in words.split():
        athletes = athletes.filter(Q(name__icontains=word) | Q(code__icontains=word))
    return athletes


def held_back_by(athletes: Rows, skill: str) -> Rows:
    """Those whose answer names this skill among what holds them back.

    The list is stored as JSON. Its text is searched for the code in quotation marks, because not
    every database looks into JSON lists; some write letters beyond ASCII as they are, some do not.
    """
    text = Cast("standing__holding_back", TextField())
    found = Q(pk__in=())
    for number, plain in enumerate((False, True)):
        quoted = json.dumps(skill, ensure_ascii=not plain)
        athletes = athletes.alias(**{f"at_{number}": StrIndex(text, Value(quoted))})
        found |= Q(**{f"at_{number}__gt": 0})
    return athletes.filter(found).exclude(says__in=(TOP, UNKNOWN))


def on_hold(athletes: Rows, wanted: bool, today: date) -> Rows:
    """Those with a hold in force, or those without."""
    stopped = Exists(Hold.objects.on(today).filter(athlete=OuterRef("pk")))
    return athletes.filter(stopped if wanted else ~stopped)


def in_class(athletes: Rows, code: str, today: date) -> Rows:
    """Those with a place in this class today."""
    mine = _running(today).filter(athlete=OuterRef("pk"), gym_class__code=code)
    return athletes.filter(Exists(mine))


def not_checked_for(athletes: Rows, weeks: int, today: date) -> Rows:
    """Those whose last check is at least so many weeks ago, and those never checked."""
    before = Q(standing__last_checked__lte=today - timedelta(weeks=weeks))
    return athletes.filter(before | _NEVER)


def never_checked(athletes: Rows) -> Rows:
    """Those of whom no attempt is stored, as far as answers were worked out."""
    return athletes.filter(_NEVER)


def at_least(athletes: Rows, years: int, today: date) -> Rows:
    """Those who have had this birthday; not those of unknown age."""
    return athletes.filter(birth_date__lte=_years_before(today, years))


def at_most(athletes: Rows, years: int, today: date) -> Rows:
    """Those who have not had the next birthday; not those of unknown age."""
    return athletes.filter(birth_date__gt=_years_before(today, years + 1))


def _years_before(day: date, years: int) -> date:
    """The latest birth date of somebody who is so many years old on ``day``."""
    try:
        return day.replace(year=day.year - years)
    except ValueError:  # 29 February in a year without one
        return date(day.year - years, 2, 28)


# Sorting the board: who is alike stands by name


def by_name(athletes: Rows, backwards: bool = False) -> Rows:
    """By name, then code."""
    name = Lower("name")
    return athletes.order_by(name.desc() if backwards else name.asc(), "code")


def by_readiness(athletes: Rows, backwards: bool = False) -> Rows:
    """Decisions a lead can act on first, the likeliest of each first; the top tier last."""
    place = Case(
        *(When(says=saying, then=Value(number)) for number, saying in enumerate(SAYINGS)),
        output_field=IntegerField(),
    )
    # In whole percent, as it is shown: the same record may differ in the last of many digits.
    percent = Floor(F("standing__p_ready") * 100.0 + 0.5)
    chance = Case(When(says__in=ORDER, then=percent), default=None)
    order = (
        (place.desc(), chance.asc(nulls_first=True))
        if backwards
        else (place.asc(), chance.desc(nulls_last=True))
    )
    return athletes.order_by(*order, Lower("name"), "code")


def by_field(athletes: Rows, field: str, backwards: bool = False, low_first: bool = True) -> Rows:
    """By a field, unknowns last; ``low_first``: which way round forwards is."""
    forwards = low_first is not backwards
    order = F(field).asc(nulls_last=True) if forwards else F(field).desc(nulls_last=True)
    return athletes.order_by(order, Lower("name"), "code")


def by_last_check(athletes: Rows, backwards: bool = False) -> Rows:
    """Checked lately first, never checked last; or the other way round."""
    last = F("standing__last_checked")
    order = last.asc(nulls_first=True) if backwards else last.desc(nulls_last=True)
    return athletes.order_by(order, Lower("name"), "code")


def by_class(athletes: Rows, backwards: bool, today: date) -> Rows:
    """By the first class of the week; those in none come last."""
    mine = _running(today).filter(athlete=OuterRef("pk")).values("gym_class__name")[:1]
    return by_field(athletes.alias(first_class=Subquery(mine)), "first_class", backwards)

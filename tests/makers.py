"""Make records for tests. Each maker needs only what the test is about; the rest is filled in.

Codes that a test does not name are counted up, so makers may be called any number of times.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from itertools import count
from typing import Any

from allauth.mfa.models import Authenticator
from django.contrib.auth.models import User

from progress import models
from progress.models import ResultChoice, Role
from tests.makers_of_floors import make_area as make_area
from tests.makers_of_floors import make_loop as make_loop
from tests.makers_of_floors import make_setup as make_setup
from tests.makers_of_floors import make_station as make_station
from tests.makers_of_floors import make_variant as make_variant

TODAY = date(2026, 3, 2)  # a Monday
JOINED = date(2025, 9, 1)
_numbers = count(1)


def next_code(word: str) -> str:
    """A code nobody has yet; codes sort in the order they were made."""
    return f"{word}-{next(_numbers):05d}"


def moment(day: date = TODAY, hour: int = 16, minute: int = 30) -> datetime:
    """A time on ``day`` in UTC."""
    return datetime.combine(day, time(hour, minute), tzinfo=UTC)


# The catalogue


def make_tier(number: int = 1, **values: Any) -> models.Tier:
    """The tier with this number, made if it is not there yet."""
    values.setdefault("name", f"Tier {number}")
    return models.Tier.objects.get_or_create(number=number, defaults=values)[0]


def make_ladder(code: str | None = None, **values: Any) -> models.Ladder:
    """The ladder with this code, made if it is not there yet."""
    code = code or next_code("ladder")
    values.setdefault("name", code.capitalize())
    return models.Ladder.objects.get_or_create(code=code, defaults=values)[0]


def make_skill(
    code: str | None = None,
    *,
    ladder: models.Ladder | str = "landing",
    tier: models.Tier | int = 1,
    needs: Iterable[models.Skill] = (),
    look_fors: Iterable[str] = (),
    **values: Any,
) -> models.Skill:
    """A skill; ``ladder`` and ``tier`` may be given by code and number."""
    code = code or next_code("SKILL")
    skill = models.Skill.objects.create(
        code=code,
        name=values.pop("name", f"Skill {code}"),
        ladder=make_ladder(ladder) if isinstance(ladder, str) else ladder,
        tier=make_tier(tier) if isinstance(tier, int) else tier,
        **values,
    )
    for need in needs:
        models.SkillNeed.objects.create(skill=skill, need=need)
    for order, text in enumerate(look_fors):
        models.LookFor.objects.create(skill=skill, order=order, text=text)
    return skill


# People


def make_account(username: str | None = None, **values: Any) -> User:
    """An account that can sign in; its password is "correct horse battery"."""
    return User.objects.create_user(
        username or next_code("account"), password="correct horse battery", **values
    )


def make_second_factor(account: User) -> Authenticator:
    """An authenticator app for this account, as a lead must have."""
    return Authenticator.objects.create(
        user=account, type=Authenticator.Type.TOTP, data={"secret": "JBSWY3DPEHPK3PXP"}
    )


def make_staff(
    code: str | None = None, *, role: Role = Role.COACH, with_user: bool = True, **values: Any
) -> models.StaffMember:
    """A member of staff, with an account of the same name unless ``with_user`` is False."""
    code = code or next_code("staff")
    values.setdefault("name", code.capitalize())
    if with_user:
        values.setdefault("user", make_account(code))
    return models.StaffMember.objects.create(code=code, role=role, **values)


def make_athlete(
    code: str | None = None, *, tier: models.Tier | int = 1, **values: Any
) -> models.Athlete:
    """An athlete of eight in tier 1."""
    code = code or next_code("athlete")
    values = {
        "name": code.capitalize(),
        "birth_date": date(2018, 2, 1),
        "joined": JOINED,
        "tier": make_tier(tier) if isinstance(tier, int) else tier,
    } | values
    return models.Athlete.objects.create(code=code, **values)


def make_guardian(
    children: Iterable[models.Athlete] = (),
    *,
    name: str | None = None,
    with_user: bool = True,
    may_see: bool = True,
    **values: Any,
) -> models.Guardian:
    """A guardian of ``children``, with an account unless ``with_user`` is False."""
    name = name or next_code("guardian")
    if with_user:
        values.setdefault("user", make_account(name.lower().replace(" ", "-")))
    guardian = models.Guardian.objects.create(name=name, **values)
    for child in children:
        models.Guardianship.objects.create(guardian=guardian, athlete=child, may_see=may_see)
    return guardian


# Classes


def make_class(
    code: str | None = None,
    *,
    athletes: Iterable[models.Athlete] = (),
    coaches: Iterable[models.StaffMember] = (),
    since: date = JOINED,
    **values: Any,
) -> models.GymClass:
    """A Monday class with these athletes enrolled from ``since``."""
    code = code or next_code("class")
    values = {"name": code.capitalize(), "weekday": 0, "starts_at": time(16, 30)} | values
    gym_class = models.GymClass.objects.create(code=code, **values)
    gym_class.coaches.set(coaches)
    for athlete in athletes:
        enrol(athlete, gym_class, since=since)
    return gym_class


def enrol(
    athlete: models.Athlete,
    gym_class: models.GymClass,
    *,
    since: date = JOINED,
    until: date | None = None,
) -> models.Enrolment:
    """Give ``athlete`` a place in ``gym_class``."""
    return models.Enrolment.objects.create(
        athlete=athlete, gym_class=gym_class, since=since, until=until
    )


def make_meeting(
    gym_class: models.GymClass,
    day: date = TODAY,
    *,
    present: Iterable[models.Athlete] = (),
    away: Iterable[models.Athlete] = (),
) -> models.Meeting:
    """A meeting of ``gym_class`` on ``day`` with its register."""
    meeting = models.Meeting.objects.create(gym_class=gym_class, day=day)
    for athletes, came in ((present, True), (away, False)):
        for athlete in athletes:
            models.RegisterEntry.objects.create(meeting=meeting, athlete=athlete, present=came)
    return meeting


# Attempts and decisions


def make_attempt(
    athlete: models.Athlete,
    skill: models.Skill,
    result: str = ResultChoice.CLEAN,
    *,
    at: datetime | date = TODAY,
    coach: models.StaffMember | None = None,
    uid: str | None = None,
    **values: Any,
) -> models.Attempt:
    """One stored attempt; a plain date means that afternoon."""
    return models.Attempt.objects.create(
        uid=uid or next_code("attempt"),
        athlete=athlete,
        skill=skill,
        result=result,
        at=at if isinstance(at, datetime) else moment(at),
        coach=coach,
        **values,
    )


def make_attempts(
    athlete: models.Athlete,
    skill: models.Skill,
    results: Iterable[str],
    *,
    days: Iterable[date],
    coaches: Iterable[models.StaffMember] = (),
) -> list[models.Attempt]:
    """A history in one go: ``results`` in order, dealt out over ``days`` and ``coaches`` in turn.

    The first results fall on the first day, so give the days oldest first; results of one day
    are a minute apart.
    """
    days, coaches, results = list(days), list(coaches), list(results)
    dealt = sorted(days[number % len(days)] for number in range(len(results)))
    return models.Attempt.objects.bulk_create(
        models.Attempt(
            uid=next_code("attempt"),
            athlete=athlete,
            skill=skill,
            result=result,
            at=moment(day, minute=number % 60),
            coach=coaches[number % len(coaches)] if coaches else None,
        )
        for number, (day, result) in enumerate(zip(dealt, results, strict=True))
    )


def make_correction(
    attempt: models.Attempt,
    result: str | None = None,
    *,
    reason: str = "Tapped the wrong row.",
    **values: Any,
) -> models.Attempt:
    """A new attempt that supersedes ``attempt``; without a result it takes it back."""
    return make_attempt(
        attempt.athlete,
        attempt.skill,
        result or attempt.result,
        at=attempt.at,
        coach=attempt.coach,
        variant=attempt.variant,
        meeting=attempt.meeting,
        supersedes=attempt,
        taken_back=result is None,
        reason=reason,
        **values,
    )


def make_hold(
    athlete: models.Athlete,
    *,
    starts: date = TODAY,
    kind: str = "injury",
    ladders: Iterable[models.Ladder] = (),
    **values: Any,
) -> models.Hold:
    """A hold on everything, or on ``ladders`` alone."""
    hold = models.Hold.objects.create(athlete=athlete, starts=starts, kind=kind, **values)
    hold.ladders.set(ladders)
    return hold


def make_sign_off(
    athlete: models.Athlete, decided_by: models.StaffMember, **values: Any
) -> models.SignOff:
    """A move from tier 1 to tier 2, decided now."""
    values = {
        "from_tier": make_tier(1),
        "to_tier": make_tier(2),
        "decided_at": moment(),
        "sentence": "Steady on every ladder for weeks.",
        "engine_version": "1",
        "rules_version": 0,
    } | values
    return models.SignOff.objects.create(athlete=athlete, decided_by=decided_by, **values)

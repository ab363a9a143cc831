"""A gym with any number of rows in every table, to see how pages bear it."""

from datetime import date, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Model

from progress import models
from tests import makers

PARENTS = 10
FIRST_MONDAY = date(2020, 1, 6)


def fill(first: int, last: int) -> None:
    """Add rows ``first`` to ``last`` (not counted) of every record.

    Rows that belong inside another record's page are dealt out over its first ten records, so
    those pages grow as well. Call it with 0 first.
    """
    numbers = range(first, last)
    _fill_catalogue(numbers)
    _fill_people(numbers)
    _fill_classes(numbers)
    _fill_floor(numbers)
    _fill_log(numbers)
    _fill_families(numbers)


def _add(model: type[Model], numbers: range, **values: Any) -> None:
    """Add a row for each number; a value may be a function of the number."""
    model._default_manager.bulk_create(
        model(**{name: v(n) if callable(v) else v for name, v in values.items()}) for n in numbers
    )


class _Dealt:
    """The record for a number: its own, or one of the first ten in turn."""

    def __init__(self, model: type[Model]) -> None:
        self.rows = list(model._default_manager.order_by("pk"))

    def own(self, number: int) -> Model:
        return self.rows[number]

    def parent(self, number: int) -> Model:
        return self.rows[number % PARENTS]


def _code(number: int) -> str:
    return f"code-{number}"


def _name(number: int) -> str:
    return f"Name {number}"


def _fill_catalogue(numbers: range) -> None:
    _add(models.Ladder, numbers, code=_code, name=_name)
    _add(models.Tier, numbers, number=lambda n: n + 1, name=_name)
    ladder, tier = _Dealt(models.Ladder), _Dealt(models.Tier)
    both = {"ladder": ladder.parent, "tier": tier.parent}
    _add(models.Skill, numbers, code=_code, name=_name, **both)
    skill = _Dealt(models.Skill)
    _add(models.LookFor, numbers, skill=skill.parent, order=lambda n: n, text=_name)
    later = range(max(numbers.start, PARENTS), numbers.stop)
    _add(models.SkillNeed, later, skill=skill.parent, need=skill.own)


def _fill_people(numbers: range) -> None:
    _add(User, numbers, username=lambda n: f"user-{n}")
    _add(User, numbers, username=lambda n: f"parent-{n}")
    users = {user.username: user for user in User.objects.all()}
    staff = {"code": _code, "name": _name, "user": lambda n: users[f"user-{n}"]}
    _add(models.StaffMember, numbers, **staff)
    _add(models.Athlete, numbers, code=_code, name=_name, tier=_Dealt(models.Tier).parent)
    _add(models.Guardian, numbers, name=_name, user=lambda n: users[f"parent-{n}"])
    guardian, athlete = _Dealt(models.Guardian), _Dealt(models.Athlete)
    _add(models.Guardianship, numbers, guardian=guardian.parent, athlete=athlete.own)
    later = range(max(numbers.start, PARENTS), numbers.stop)
    _add(models.Guardianship, later, guardian=guardian.own, athlete=athlete.parent)


def _fill_classes(numbers: range) -> None:
    _add(models.GymClass, numbers, code=_code, name=_name)
    gym_class, athlete = _Dealt(models.GymClass), _Dealt(models.Athlete)
    since, later = makers.JOINED, makers.TODAY
    _add(models.Enrolment, numbers, gym_class=gym_class.parent, athlete=athlete.own, since=since)
    _add(models.Enrolment, numbers, gym_class=gym_class.own, athlete=athlete.parent, since=later)
    day = {"day": lambda n: FIRST_MONDAY + timedelta(days=n // 20)}
    _add(models.Meeting, numbers, gym_class=gym_class.own, **day)
    meeting = _Dealt(models.Meeting)
    _add(models.RegisterEntry, numbers, meeting=meeting.parent, athlete=athlete.own)


def _fill_floor(numbers: range) -> None:
    _add(models.Area, numbers, code=_code, name=_name)
    _add(models.Setup, numbers, week=lambda n: FIRST_MONDAY + timedelta(weeks=n))
    setup, area = _Dealt(models.Setup), _Dealt(models.Area)
    _add(models.Loop, numbers, setup=setup.parent, area=area.parent, code=_code, name=_name)
    _add(models.Station, numbers, setup=setup.parent, code=_code, name=_name)
    loop, station = _Dealt(models.Loop), _Dealt(models.Station)
    stop = {"loop": loop.parent, "station": station.own, "position": lambda n: n + 1}
    _add(models.LoopStop, numbers, **stop)
    skill = _Dealt(models.Skill).parent
    _add(models.Variant, numbers, station=station.parent, skill=skill, code=_code, step=lambda n: n)
    _add(models.Equipment, numbers, code=_code, name=_name, count=3)
    takes = {"station": station.parent, "equipment": _Dealt(models.Equipment).own}
    _add(models.StationEquipment, numbers, **takes)
    who = {"gym_class": _Dealt(models.GymClass).parent, "athlete": _Dealt(models.Athlete).own}
    day = {"day": lambda n: FIRST_MONDAY + timedelta(days=n)}
    _add(models.PlanChoice, numbers, **who, **day, loop=loop.parent)


def _fill_log(numbers: range) -> None:
    athlete, skill = _Dealt(models.Athlete).parent, _Dealt(models.Skill).parent
    staff, tier = _Dealt(models.StaffMember).parent, _Dealt(models.Tier)
    said = {"athlete": athlete, "skill": skill, "coach": staff, "at": makers.moment()}
    where = {"variant": _Dealt(models.Variant).own, "meeting": _Dealt(models.Meeting).own}
    _add(models.Attempt, numbers, uid=_code, result="clean", **said, **where)
    stored = {attempt.uid: attempt for attempt in models.Attempt.objects.all()}
    even = range(numbers.start, numbers.stop, 2)
    why = {"supersedes": lambda n: stored[_code(n)], "reason": "Wrong row."}
    _add(models.Attempt, even, uid=lambda n: f"again-{n}", result="miss", **said, **why)
    _add(models.Hold, numbers, athlete=athlete, starts=makers.TODAY, kind="wish", placed_by=staff)
    _add(models.Note, numbers, athlete=athlete, text="Goes first", written_by=staff)
    meeting = _Dealt(models.Meeting).own
    _add(models.SheetSkill, numbers, meeting=meeting, skill=skill, shown=True, chosen_by=staff)
    _add(models.RuleBook, numbers, version=lambda n: n + 1, values={}, changed_by=staff)
    learnt = {"cutoff": makers.TODAY, "engine_version": "1", "attempts": 1, "values": {}}
    _add(models.Calibration, numbers, fingerprint=_code, **learnt)
    tiers = {"from_tier": tier.rows[0], "to_tier": tier.rows[1]}
    why = {"sentence": "Ready.", "engine_version": "1", "rules_version": 1}
    _add(models.SignOff, numbers, athlete=athlete, decided_by=staff, **tiers, **why)
    changed = {"what": "standard", "before": "0.8", "after": "0.85", "why": "Too easy."}
    _add(models.SkillChange, numbers, skill=skill, changed_by=staff, **changed)
    _add(models.Standing, numbers, athlete=_Dealt(models.Athlete).own)


def _fill_families(numbers: range) -> None:
    guardian, athlete = _Dealt(models.Guardian), _Dealt(models.Athlete)
    lasting = {"made_at": makers.moment(), "expires_at": makers.moment() + timedelta(days=90)}
    _add(models.FamilyLink, numbers, guardian=guardian.parent, digest=_code, **lasting)
    _add(models.FamilyCode, numbers, guardian=guardian.parent, digest=_code, **lasting)
    _add(models.Consent, numbers, guardian=guardian.own, athlete=athlete.own, kind="mail")
    _add(models.ErasureRequest, numbers, athlete=athlete.own, asked_by=guardian.own)
    idea = {"code": _code, "skill": _Dealt(models.Skill).parent}
    _add(models.HomeIdea, numbers, text="Hop on a line.", caution="On a soft floor.", **idea)
    _add(models.MailSent, numbers, guardian=guardian.own, period="2026-11")

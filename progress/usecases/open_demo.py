"""Somebody tries the tool out: a made-up gym, sign-ins for each role, and tonight's class."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.auth.models import Group, Permission, User
from django.db import transaction
from django.db.models import Count, QuerySet

from progress.models import Calibration, Guardian, GymClass, Role, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.made_up_gym.scenario import made_up_scenario
from progress.usecases.make_gym import GymMade, make_gym
from progress.usecases.see_class import ClassTonight, see_class
from progress.usecases.standings.keep_up import bring_up_to_date

LEADS = "Programme leads"
PASSWORD = "made-up hall only"


@dataclass(frozen=True)
class SignIn:
    """A demo account; ``who`` says whose it is."""

    username: str
    password: str
    who: str


@dataclass(frozen=True)
class Demo:
    """What a demo shows; ``tonight`` is None in a gym without classes."""

    gym: GymMade
    calibration: Calibration
    sign_ins: tuple[SignIn, ...]
    tonight: ClassTonight | None


def open_demo(*, seed: int, today: date) -> Demo:
    """Make the gym and the accounts once (a second call keeps everything) and look at tonight.

    Raises GymNotEmpty in a gym that has records of its own: demo passwords are public.
    """
    gym = make_gym(seed=seed, today=today)
    tonight = class_tonight(today)
    sign_ins = _sign_ins(tonight, today)
    calibration = calibrate_gym(today=today)
    bring_up_to_date(today=today)
    shown = see_class(gym_class=tonight, today=today) if tonight else None
    return Demo(gym, calibration, sign_ins, shown)


def class_tonight(today: date) -> GymClass | None:
    """The hall class that meets today or next; a small-area class only where there is no other."""
    classes = list(GymClass.objects.exclude(weekday=None))

    def days_ahead(gym_class: GymClass) -> int:
        return ((gym_class.weekday or 0) - today.weekday()) % 7

    classes.sort(key=lambda c: (c.small_area, days_ahead(c), str(c.starts_at), c.code))
    return classes[0] if classes else None


@transaction.atomic
def _sign_ins(tonight: GymClass | None, today: date) -> tuple[SignIn, ...]:
    """One account for each role among the made-up people."""
    found = []
    codes = [member.code for member in made_up_scenario().staff]
    for role in (Role.COACH, Role.LEAD, Role.DESK):
        members = StaffMember.objects.filter(role=role, active=True, code__in=codes)
        first = members.filter(classes=tonight) if role == Role.COACH and tonight else members
        found.append(_account(role.value, members, first.order_by("code"), role.label.lower()))
    everybody = Guardian.objects.order_by("pk")
    found.append(_account("parent", everybody, _guardians(tonight, today), "parent"))
    return tuple(sign_in for sign_in in found if sign_in is not None)


def _account(
    username: str, people: QuerySet[Any], first: QuerySet[Any], what: str
) -> SignIn | None:
    """The account of this name; a new one goes to the first who has none.

    Whoever has got it keeps it with its password, whatever class meets tonight. An account of this
    name that none of ``people`` has is somebody's own and is left alone.
    """
    owner = people.filter(user__username=username).first()
    if owner is None:
        owner = first.filter(user=None).first() or people.filter(user=None).first()
        if owner is None or User.objects.filter(username=username).exists():
            return None
        owner.user = User.objects.create_user(username, password=PASSWORD)
        owner.save(update_fields=["user"])
        if username == Role.LEAD:
            make_lead(owner.user)
    return SignIn(username, PASSWORD, f"{owner.name}, {what}")


def make_lead(user: User) -> None:
    """Let a lead into the admin with every right over the gym's records."""
    group, _ = Group.objects.get_or_create(name=LEADS)
    group.permissions.set(Permission.objects.filter(content_type__app_label="progress"))
    user.is_staff = True
    user.save(update_fields=["is_staff"])
    user.groups.add(group)


def _guardians(tonight: GymClass | None, today: date) -> QuerySet[Guardian]:
    """Guardians with several children first, of tonight's children if there is such a class."""
    guardians = Guardian.objects.annotate(children=Count("athletes", distinct=True))
    if tonight is not None:
        here = tonight.athletes_on(today).values("pk")
        guardians = guardians.filter(
            guardianships__may_see=True, guardianships__athlete__in=here.order_by()
        )
    return guardians.order_by("-children", "pk")

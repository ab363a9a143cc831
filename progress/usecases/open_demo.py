"""Somebody tries the tool out: a made-up gym, sign-ins for each role, and tonight's class."""

from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import Group, Permission, User
from django.db import transaction
from django.db.models import Count

from progress.models import Calibration, Guardian, GymClass, Role, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.make_gym import GymMade, make_gym
from progress.usecases.see_class import ClassTonight, see_class

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
    sign_ins = _sign_ins(tonight)
    calibration = calibrate_gym(today=today)
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
def _sign_ins(tonight: GymClass | None) -> tuple[SignIn, ...]:
    """One account for each role; an account that exists keeps its password."""
    found = []
    for role in (Role.COACH, Role.LEAD, Role.DESK):
        members = StaffMember.objects.filter(role=role, active=True)
        if role == Role.COACH and tonight is not None:
            members = members.filter(classes=tonight) or members
        member = members.order_by("code").first()
        if member is not None:
            user, sign_in = _account(role.value, f"{member.name}, {role.label.lower()}")
            StaffMember.objects.filter(pk=member.pk).update(user=user)
            if role == Role.LEAD:
                make_lead(user)
            found.append(sign_in)
    guardian = _a_guardian(tonight)
    if guardian is not None:
        user, sign_in = _account("parent", f"{guardian.name}, parent")
        Guardian.objects.filter(pk=guardian.pk).update(user=user)
        found.append(sign_in)
    return tuple(found)


def make_lead(user: User) -> None:
    """Let a lead into the admin with every right over the gym's records."""
    group, _ = Group.objects.get_or_create(name=LEADS)
    group.permissions.set(Permission.objects.filter(content_type__app_label="progress"))
    user.is_staff = True
    user.save(update_fields=["is_staff"])
    user.groups.add(group)


def _account(username: str, who: str) -> tuple[User, SignIn]:
    user, new = User.objects.get_or_create(username=username)
    if new:
        user.set_password(PASSWORD)
        user.save()
    return user, SignIn(username, PASSWORD, who)


def _a_guardian(tonight: GymClass | None) -> Guardian | None:
    """A guardian with several children, one in tonight's class if there is such a one."""
    with_account = Guardian.objects.filter(user__username="parent").first()
    if with_account is not None:
        return with_account
    guardians = Guardian.objects.annotate(children=Count("athletes", distinct=True))
    chosen = guardians.filter(athletes__classes=tonight) if tonight else guardians
    return (chosen or guardians).order_by("-children", "pk").first()

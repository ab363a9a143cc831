"""A throw-away site filled with a simulated gym, for what is measured through the database.

Importing this sets Django up on the tests' settings, whose data folder goes when Python ends.
Import it before anything of ``progress.models``.
"""

import os
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
django.setup()

from django.contrib.auth.models import User  # noqa: E402
from django.core.management import call_command  # noqa: E402

from progress import models  # noqa: E402
from progress.engine.log import Log  # noqa: E402
from tests import makers  # noqa: E402
from tests.simulated_gyms import SimulatedGym  # noqa: E402

RESULTS = ("miss", "assisted", "clean")
STORED_AT_ONCE = 2_000
CLASS_SIZE = 30


def make_site(gym: SimulatedGym, last_day: date) -> None:
    """Empty tables, then the whole gym, shifted so that its log ends on ``last_day``.

    Athletes are in classes of CLASS_SIZE; the floor has two loops of four stations.
    """
    call_command("migrate", verbosity=0)
    _fill_catalogue(gym)
    _fill_people(gym, last_day)
    _fill_log(gym.log, last_day - timedelta(days=gym.on_day))
    _fill_floor(gym)


def lead() -> User:
    """The programme lead's account, with a second factor."""
    lee = makers.make_staff("lee", role=models.Role.LEAD)
    assert lee.user is not None
    makers.make_second_factor(lee.user)
    return lee.user


def _fill_catalogue(gym: SimulatedGym) -> None:
    made: dict[str, models.Skill] = {}
    for skill in gym.catalogue.skills:
        made[skill.code] = makers.make_skill(
            skill.code,
            ladder=skill.ladder,
            tier=skill.tier,
            gate=skill.gate,
            name=skill.name,
            needs=[made[code] for code in skill.needs],
        )


def _fill_people(gym: SimulatedGym, last_day: date) -> None:
    models.Athlete.objects.bulk_create(
        models.Athlete(
            code=athlete.code,
            name=f"Child {athlete.code}",
            tier_id=athlete.tier,
            birth_date=last_day - timedelta(days=3000),
            joined=last_day - timedelta(days=400),
        )
        for athlete in gym.athletes
    )
    models.StaffMember.objects.bulk_create(
        models.StaffMember(code=code, name=code) for code in gym.log.coaches
    )
    everybody = list(models.Athlete.objects.order_by("code"))
    for start in range(0, len(everybody), CLASS_SIZE):
        gym_class = makers.make_class(f"class-{start // CLASS_SIZE:03d}")
        models.Enrolment.objects.bulk_create(
            models.Enrolment(gym_class=gym_class, athlete=athlete, since=athlete.joined)
            for athlete in everybody[start : start + CLASS_SIZE]
        )


def _fill_log(log: Log, shift: date) -> None:
    skills = _pks(models.Skill, [s.code for s in models.Skill.objects.as_catalogue().skills])
    athletes, coaches = _pks(models.Athlete, log.athletes), _pks(models.StaffMember, log.coaches)
    columns = (log.athlete, log.skill, log.when, log.result, log.coach)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    offset = shift.toordinal()
    models.Attempt.objects.bulk_create(
        (
            models.Attempt(
                uid=f"bench-{number}",
                athlete_id=athletes[athlete],
                skill_id=skills[skill],
                at=_moment(when + offset),
                result=RESULTS[result],
                coach_id=coaches[coach],
            )
            for number, (athlete, skill, when, result, coach) in enumerate(rows)
        ),
        batch_size=STORED_AT_ONCE,
    )


def _moment(when: float) -> datetime:
    day = datetime.combine(date.fromordinal(int(when)), time.min, tzinfo=UTC)
    return day + timedelta(days=when % 1)


def _pks(model: type, codes: Sequence[str]) -> list[int]:
    """Keys in the order of ``codes``."""
    key = dict(model._default_manager.values_list("code", "pk"))  # type: ignore[attr-defined]
    return [key[code] for code in codes]


def _fill_floor(gym: SimulatedGym) -> None:
    setup = makers.make_setup(None, name="The floor")
    by_code = {skill.code: skill for skill in models.Skill.objects.all()}
    for loop in range(2):
        stations = []
        for number in range(4):
            ladder = gym.catalogue.ladders[(4 * loop + number) % len(gym.catalogue.ladders)]
            station = makers.make_station(setup, f"station-{loop}-{number}")
            for step in (-1, 0, 1):
                makers.make_variant(station, by_code[f"{ladder}-{step + 2}"], step=step)
            stations.append(station)
        makers.make_loop(setup, f"loop-{loop}", stations=stations)

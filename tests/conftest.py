"""The cast, always the same, and what tests may lean on.

Ada is about ready for tier 2, Bo is stuck. Kim coaches them, Lee leads, Dee sits at the desk.
Ada's guardian may see Ada alone; the outsider is the guardian of Cy, a child in another family,
and must see nothing of either. Everything happens around ``today``, and for the clients the
clock stands still at noon of that day.
"""

import os
from datetime import date, datetime, timedelta

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from progress.models import (
    Athlete,
    Guardian,
    GymClass,
    ResultChoice,
    Role,
    Setup,
    Skill,
    StaffMember,
    Tier,
)
from progress.usecases.families.links import make_link, revoke_links
from tests import makers
from tests.machine import missing

MISS, ASSISTED, CLEAN = ResultChoice.MISS, ResultChoice.ASSISTED, ResultChoice.CLEAN


# Time


@pytest.fixture
def today() -> date:
    """The day everything happens on, a Monday."""
    return makers.TODAY


@pytest.fixture(autouse=True)
def _nothing_kept_from_the_test_before() -> None:
    cache.clear()


@pytest.fixture
def stopped_clock(monkeypatch: pytest.MonkeyPatch, today: date) -> datetime:
    """Stop the clock that pages and commands read, at noon of ``today``."""
    noon = makers.moment(today, hour=12, minute=0)
    monkeypatch.setattr(timezone, "now", lambda: noon)
    return noon


# The catalogue and the floor


@pytest.fixture
def tiers(db: None) -> dict[int, Tier]:
    """Tiers 1 and 2, by number."""
    return {1: makers.make_tier(1), 2: makers.make_tier(2, minimum_age=5.0)}


@pytest.fixture
def small_catalogue(tiers: dict[int, Tier]) -> dict[str, Skill]:
    """Two ladders over two tiers, by code: LAND-1 and LAND-2 are gates, HANG-3 is optional."""
    landing = makers.make_ladder("landing", order=1)
    hanging = makers.make_ladder("hanging", order=2)
    land_1 = makers.make_skill(
        "LAND-1",
        ladder=landing,
        gate=True,
        name="Land still on two feet",
        look_fors=("Knees bend", "Feet stay where they land"),
    )
    hang_1 = makers.make_skill("HANG-1", ladder=hanging, name="Hang for ten seconds")
    land_2 = makers.make_skill(
        "LAND-2",
        ladder=landing,
        tier=tiers[2],
        gate=True,
        needs=(land_1,),
        name="Land from knee height",
        caution="Mat rated by its maker for the height.",
    )
    hang_2 = makers.make_skill(
        "HANG-2", ladder=hanging, tier=tiers[2], needs=(hang_1, land_1), name="Travel hand to hand"
    )
    hang_3 = makers.make_skill(
        "HANG-3", ladder=hanging, tier=tiers[2], required=False, needs=(hang_2,), name="Turn around"
    )
    return {skill.code: skill for skill in (land_1, hang_1, land_2, hang_2, hang_3)}


@pytest.fixture
def floor(small_catalogue: dict[str, Skill], today: date) -> Setup:
    """This week's floor: one loop of two stations, three variants each."""
    setup = makers.make_setup(today - timedelta(days=today.weekday()), name="This week")
    jump = makers.make_station(setup, "jump", name="Jump down")
    bars = makers.make_station(setup, "bars", name="Bars")
    for step, skill, height in ((-1, "LAND-1", 0.2), (0, "LAND-1", 0.4), (1, "LAND-2", 0.7)):
        makers.make_variant(
            jump, small_catalogue[skill], step=step, height_m=height, change="height"
        )
    for step, skill in ((-1, "HANG-1"), (0, "HANG-1"), (1, "HANG-2")):
        makers.make_variant(bars, small_catalogue[skill], step=step, change="support", lanes=2)
    makers.make_loop(setup, "first", stations=(jump, bars))
    return setup


# The people


@pytest.fixture
def coach(db: None) -> StaffMember:
    """Kim, a coach with an account."""
    return makers.make_staff("kim", role=Role.COACH)


@pytest.fixture
def lead(db: None) -> StaffMember:
    """Lee, the programme lead, with an account and a second factor."""
    lee = makers.make_staff("lee", role=Role.LEAD)
    assert lee.user is not None
    makers.make_second_factor(lee.user)
    return lee


@pytest.fixture
def desk(db: None) -> StaffMember:
    """Dee at the front desk, with an account."""
    return makers.make_staff("dee", role=Role.DESK)


@pytest.fixture
def ada(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> Athlete:
    """In tier 1 and about ready: every skill of the tier clean, lately, on four days, by two."""
    athlete = makers.make_athlete("ada", name="Ada")
    days = [today - timedelta(weeks=weeks) for weeks in (4, 3, 2, 1)]
    for code in ("LAND-1", "HANG-1"):
        makers.make_attempts(
            athlete, small_catalogue[code], [CLEAN] * 8, days=days, coaches=(coach, lead)
        )
    return athlete


@pytest.fixture
def bo(small_catalogue: dict[str, Skill], coach: StaffMember, today: date) -> Athlete:
    """In tier 1 and stuck: lands cleanly, but has never hung without help."""
    athlete = makers.make_athlete("bo", name="Bo")
    days = [today - timedelta(weeks=weeks) for weeks in (4, 3, 2, 1)]
    for code, results in (
        ("LAND-1", [MISS, CLEAN, CLEAN, CLEAN, CLEAN, CLEAN, CLEAN, CLEAN]),
        ("HANG-1", [MISS, MISS, ASSISTED, MISS, ASSISTED, MISS, MISS, ASSISTED]),
    ):
        makers.make_attempts(athlete, small_catalogue[code], results, days=days, coaches=(coach,))
    return athlete


@pytest.fixture
def cy(tiers: dict[int, Tier]) -> Athlete:
    """A child of another family, in tier 1 and never checked."""
    return makers.make_athlete("cy", name="Cy")


@pytest.fixture
def guardian(ada: Athlete) -> Guardian:
    """Ada's guardian, who may see Ada and nobody else."""
    return makers.make_guardian([ada], name="Guardian of Ada")


@pytest.fixture
def outsider(cy: Athlete) -> Guardian:
    """Cy's guardian, who must see nothing of Ada or Bo."""
    return makers.make_guardian([cy], name="Guardian of Cy")


@pytest.fixture
def monday_class(ada: Athlete, bo: Athlete, coach: StaffMember) -> GymClass:
    """Kim's Monday class with Ada and Bo in it."""
    return makers.make_class("monday", athletes=(ada, bo), coaches=(coach,), name="Monday class")


# Clients: browsers signed in as one of the cast


def client_of(person: StaffMember | Guardian) -> Client:
    """A client signed in as this person."""
    assert person.user is not None
    client = Client()
    client.force_login(person.user)
    return client


@pytest.fixture
def coach_client(coach: StaffMember, stopped_clock: datetime) -> Client:
    """Signed in as Kim."""
    return client_of(coach)


@pytest.fixture
def lead_client(lead: StaffMember, stopped_clock: datetime) -> Client:
    """Signed in as Lee."""
    return client_of(lead)


@pytest.fixture
def desk_client(desk: StaffMember, stopped_clock: datetime) -> Client:
    """Signed in as Dee."""
    return client_of(desk)


@pytest.fixture
def guardian_client(guardian: Guardian, stopped_clock: datetime) -> Client:
    """Signed in as Ada's guardian."""
    return client_of(guardian)


@pytest.fixture
def outsider_client(outsider: Guardian, stopped_clock: datetime) -> Client:
    """Signed in as the guardian of a child in another family."""
    return client_of(outsider)


def opened_by_link(guardian: Guardian, staff: StaffMember, now: datetime) -> Client:
    """A phone on which this guardian has opened the family's page with a private link."""
    token = make_link(guardian=guardian, staff=staff, now=now).token
    client = Client()
    client.post(reverse("family_open"), {"token": token})
    return client


@pytest.fixture
def linked_client(guardian: Guardian, desk: StaffMember, stopped_clock: datetime) -> Client:
    """Ada's guardian without an account, come by a private link."""
    return opened_by_link(guardian, desk, stopped_clock)


@pytest.fixture
def linked_outsider_client(
    outsider: Guardian, desk: StaffMember, stopped_clock: datetime
) -> Client:
    """Another family's guardian, come by a private link."""
    return opened_by_link(outsider, desk, stopped_clock)


@pytest.fixture
def revoked_client(guardian: Guardian, desk: StaffMember, stopped_clock: datetime) -> Client:
    """Ada's guardian, whose links were closed after the page was opened."""
    client = opened_by_link(guardian, desk, stopped_clock)
    revoke_links(guardian=guardian, staff=desk, now=stopped_clock)
    return client


@pytest.fixture
def anonymous_client(db: None, stopped_clock: datetime) -> Client:
    """Not signed in."""
    return Client()


# What the machine must have


@pytest.fixture(scope="session")
def postgres_url() -> str:
    """A PostgreSQL server that tests may fill and empty, from TEST_POSTGRES_URL."""
    url = os.environ.get("TEST_POSTGRES_URL")
    if not url:
        missing("PostgreSQL (TEST_POSTGRES_URL)")
    return str(url)

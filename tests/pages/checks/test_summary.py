"""What changed: the page after saving."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, GymClass, Skill, StaffMember
from tests import makers

pytestmark = pytest.mark.usefixtures("floor")


def summary(client: Client) -> str:
    response = client.get(reverse("sheet_summary", args=["monday"]))
    assert response.status_code == 200
    return response.content.decode()


def section(page: str, heading: str) -> str:
    return page.partition(f">{heading}</h2>")[2].partition("</section>")[0]


def test_it_counts_todays_tries_and_athletes(
    coach_client: Client, monday_class: GymClass, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    for hour in (9, 10):
        makers.make_attempt(ada, small_catalogue["HANG-1"], at=makers.moment(hour=hour))

    assert "2 tries by 1 athlete stored" in summary(coach_client)


def test_a_quiet_day_says_that_every_try_counts(
    coach_client: Client, monday_class: GymClass
) -> None:
    assert "Every try counts all the same" in summary(coach_client)


def test_who_is_on_hold_and_tried_something_is_named(
    coach_client: Client, monday_class: GymClass, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    makers.make_hold(ada)
    makers.make_attempt(ada, small_catalogue["HANG-1"], at=makers.moment(hour=9))

    assert ">Ada</a>" in section(summary(coach_client), "On hold, with tries today")


def test_a_skill_that_became_secure_is_named(
    coach_client: Client,
    monday_class: GymClass,
    small_catalogue: dict[str, Skill],
    coach: StaffMember,
    today: date,
) -> None:
    em = makers.make_athlete("em", name="Em")
    makers.enrol(em, monday_class)
    hang = small_catalogue["HANG-1"]
    makers.make_attempts(em, hang, ["clean"] * 6, days=[today - timedelta(days=7)])
    for minute in range(6):
        makers.make_attempt(em, hang, at=makers.moment(hour=10, minute=minute), coach=coach)

    secure = section(summary(coach_client), "New secure skills")

    assert "Em" in secure
    assert "Hang for ten seconds" in secure


def test_a_skill_that_is_secure_no_longer_is_named(
    coach_client: Client, monday_class: GymClass, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    for minute in range(5):
        at = makers.moment(hour=10, minute=minute)
        makers.make_attempt(ada, small_catalogue["LAND-1"], "miss", at=at)

    lost = section(summary(coach_client), "No longer secure")

    assert "Ada" in lost
    assert "Land still on two feet" in lost


def test_somebody_not_seen_for_three_meetings_is_named_kindly(
    coach_client: Client, monday_class: GymClass, today: date
) -> None:
    em = makers.make_athlete("em", name="Em")
    makers.enrol(em, monday_class)
    for weeks in (0, 1, 2):
        makers.make_meeting(monday_class, today - timedelta(weeks=weeks))

    unseen = section(summary(coach_client), "Not seen for three meetings")

    assert "Em" in unseen
    assert "Ada" not in unseen
    assert "says nothing about what they can do" in unseen


def test_who_looks_ready_is_left_to_the_lead(
    coach_client: Client,
    monday_class: GymClass,
    small_catalogue: dict[str, Skill],
    coach: StaffMember,
    lead: StaffMember,
    today: date,
) -> None:
    em = makers.make_athlete("em", name="Em")
    makers.enrol(em, monday_class)
    days = [today - timedelta(days=21), today - timedelta(days=14), today - timedelta(days=7)]
    makers.make_attempts(
        em, small_catalogue["LAND-1"], ["clean"] * 9, days=days, coaches=(coach, lead)
    )
    for minute in range(12):
        by = (coach, lead)[minute % 2]
        at = makers.moment(today - timedelta(days=minute // 6), hour=9, minute=minute)
        makers.make_attempt(em, small_catalogue["HANG-1"], at=at, coach=by)
    page = summary(coach_client)

    assert "Em" in section(page, "Looks ready now")
    assert "the lead decides" in page

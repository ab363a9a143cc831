"""A recorded try is put right by a new row, with who and why."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Attempt, GymClass, Meeting, Skill, StaffMember
from tests import makers

pytestmark = pytest.mark.usefixtures("monday_class")

UID = "0123456789abcdef" * 2


@pytest.fixture
def old(ada: Athlete, small_catalogue: dict[str, Skill]) -> Attempt:
    """A try of last week."""
    day = makers.TODAY - timedelta(days=7)
    return makers.make_attempt(ada, small_catalogue["HANG-1"], "miss", at=day, uid="last-week")


@pytest.fixture
def fresh(ada: Athlete, small_catalogue: dict[str, Skill]) -> Attempt:
    """A try of this morning."""
    at = makers.moment(hour=10)
    return makers.make_attempt(ada, small_catalogue["HANG-1"], "miss", at=at, uid="today")


def address(attempt: Attempt) -> str:
    return reverse("correct_attempt", args=["ada", attempt.uid])


def test_the_latest_attempts_lead_to_it(coach_client: Client, old: Attempt) -> None:
    page = coach_client.get(reverse("athlete_page", args=["ada"])).content.decode()

    assert address(old) in page.partition("Latest attempts")[2]


def test_it_shows_what_was_recorded_and_a_number_of_its_own(
    coach_client: Client, old: Attempt
) -> None:
    page = coach_client.get(address(old)).content.decode()

    assert "Hang for ten seconds" in page
    assert re.findall(r'type="radio" name="result" value="(\w+)"[^>]* checked', page) == ["miss"]
    assert 'name="uid" value="' in page


def test_another_days_try_is_corrected_with_a_reason(
    coach_client: Client, old: Attempt, coach: StaffMember
) -> None:
    sent = {"result": "clean", "reason": "Wrong row.", "uid": UID}

    response = coach_client.post(address(old), sent)

    made = Attempt.objects.get(uid=UID)
    assert response["Location"] == reverse("athlete_page", args=["ada"])
    assert (made.supersedes, made.result) == (old, "clean")
    assert (made.reason, made.entered_by) == ("Wrong row.", coach)
    assert (made.coach, made.at) == (old.coach, old.at)
    assert not Meeting.objects.exists()  # nobody met today because of it


def test_another_days_try_is_not_corrected_without_one(coach_client: Client, old: Attempt) -> None:
    response = coach_client.post(address(old), {"result": "clean", "reason": " ", "uid": UID})

    assert response.status_code == 422
    assert "Say why in a few words." in response.content.decode()
    assert not Attempt.objects.filter(supersedes=old).exists()


def test_todays_try_needs_no_reason_and_one_comes_back_to_the_sheet(
    coach_client: Client, fresh: Attempt
) -> None:
    sent = {"result": "assisted", "uid": UID, "sheet": "monday"}

    response = coach_client.post(address(fresh), sent)

    assert response["Location"] == reverse("check_sheet", args=["monday"])
    assert Attempt.objects.get(uid=UID).result == "assisted"


def test_a_try_can_be_taken_back(coach_client: Client, fresh: Attempt) -> None:
    coach_client.post(address(fresh), {"result": "take-back", "uid": UID})

    assert Attempt.objects.get(uid=UID).taken_back
    assert not Attempt.objects.standing().filter(athlete=fresh.athlete, at=fresh.at).exists()


def test_sending_it_twice_stores_it_once(coach_client: Client, fresh: Attempt) -> None:
    for _ in range(2):
        response = coach_client.post(address(fresh), {"result": "clean", "uid": UID})
        assert response.status_code == 302

    assert Attempt.objects.filter(supersedes=fresh).count() == 1


def test_a_try_somebody_else_corrected_meanwhile_is_refused_in_words(
    coach_client: Client, fresh: Attempt
) -> None:
    makers.make_correction(fresh, "clean")

    response = coach_client.post(address(fresh), {"result": "assisted", "uid": UID})

    assert response.status_code == 422
    assert "corrected in the meantime" in response.content.decode()


def test_a_try_of_an_athlete_in_no_class_can_be_corrected(
    coach_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    GymClass.objects.all().delete()
    attempt = makers.make_attempt(cy, small_catalogue["HANG-1"], at=makers.moment(hour=9))

    page = reverse("correct_attempt", args=["cy", attempt.uid])
    assert coach_client.get(page).status_code == 200
    assert coach_client.post(page, {"result": "miss", "uid": UID}).status_code == 302

    made = Attempt.objects.get(uid=UID)
    assert (made.supersedes, made.result, made.meeting) == (attempt, "miss", None)


def test_a_note_on_the_try_is_kept(
    coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    noted = makers.make_attempt(
        ada, small_catalogue["HANG-1"], at=makers.moment(hour=9), uid="noted", note="On the low bar"
    )

    coach_client.post(address(noted), {"result": "miss", "uid": UID})

    assert Attempt.objects.get(uid=UID).note == "On the low bar"


def test_a_try_of_another_child_is_not_reached_through_this_one(
    coach_client: Client, bo: Athlete
) -> None:
    theirs = bo.attempts.all()[0]

    assert coach_client.get(address(theirs)).status_code == 404

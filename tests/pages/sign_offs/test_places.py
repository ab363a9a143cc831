"""Room in the classes of each tier, and a place for those who wait."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Athlete, Enrolment, GymClass, SignOff, StaffMember, Tier
from tests import makers
from tests.pages.sign_offs.conftest import text, tier_of

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def test_classes_with_room_by_tier_and_who_waits_in_order(
    lead_client: Client, moved: SignOff, second: GymClass, lead: StaffMember
) -> None:
    makers.enrol(makers.make_athlete(), second)
    makers.make_class("any", name="Any class", weekday=None)
    bea = makers.make_athlete("bea", tier=2)
    makers.make_sign_off(bea, lead, decided_at=moved.decided_at - 9 * DAY)

    page = text(lead_client.get(reverse("places")))

    assert "2 athletes wait for a place" in page
    assert "Wednesday 16:30 Second class 1 2 1 free" in page
    assert "Any class (all tiers) 0 not counted" in page
    waiting = page.split("Waiting for Tier 2 (2)")[1]
    assert waiting.index("Bea for 9 days") < waiting.index("Ada since today")


def test_a_place_from_the_classs_next_day_with_the_old_one_ended(
    lead_client: Client, moved: SignOff, second: GymClass, tiers: dict[int, Tier]
) -> None:
    first = makers.make_class("first", name="First class")
    first.tiers.add(tiers[1])
    old = makers.enrol(moved.athlete, first)
    sent = {"gym_class": "second", "from_day": "", "leave": [old.pk]}

    page = text(lead_client.post(reverse("place_give", args=["ada"]), sent, follow=True))

    assert "Ada has a place in Second class from Wed 4 Mar." in page
    assert "The old place ends the day before." in page
    assert "Nobody waits for a place" in page
    old.refresh_from_db()
    assert old.until == makers.TODAY + DAY


def test_a_full_class_and_nonsense_give_no_place_and_say_why(
    lead_client: Client, moved: SignOff, second: GymClass
) -> None:
    for _ in range(2):
        makers.enrol(makers.make_athlete(), second)
    assert "disabled" in lead_client.get(reverse("places")).content.decode()
    for sent, says in (
        ({"gym_class": "second"}, "Second class is full: 2 places."),
        ({"gym_class": "nemo"}, "That class is not there any more"),
        ({}, "Choose a class."),
        ({"gym_class": "second", "from_day": "soon"}, "Write the day as in"),
    ):
        page = lead_client.post(reverse("place_give", args=["ada"]), sent, follow=True)
        assert f"No place was given to Ada. {says}" in text(page)
    theirs = Enrolment.objects.first()
    assert theirs is not None
    sent = {"gym_class": "second", "leave": [str(theirs.pk)]}
    assert lead_client.post(reverse("place_give", args=["ada"]), sent).status_code == 404
    assert Enrolment.objects.count() == 2


def test_a_family_stays_and_changes_its_mind(
    lead_client: Client, moved: SignOff, second: GymClass
) -> None:
    address = reverse("sign_off_settle", args=[moved.pk])
    page = text(lead_client.post(address, {"stays": "yes"}, follow=True))
    assert "Ada stays in the present class." in page
    assert "Nobody waits for a place" in page
    assert "Look for a place after all" in text(lead_client.get(reverse("sign_offs")))

    lead_client.post(address, {"stays": "no"})
    assert "1 athlete waits for a place" in text(lead_client.get(reverse("places")))


def test_a_gym_without_tiers_says_so(lead_client: Client) -> None:
    page = text(lead_client.get(reverse("places")))
    assert "There are no tiers yet" in page
    assert "Nobody waits" in page


def test_a_full_gym_is_shown_in_as_many_queries_as_a_small_one(
    lead_client: Client, moved: SignOff, second: GymClass, lead: StaffMember
) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            page = text(lead_client.get(reverse("places")))
        assert "Waiting for Tier 2" in page
        return len(asked)

    count()
    before = count()
    for number in range(50):
        athlete = makers.make_athlete(tier=2)
        makers.make_sign_off(athlete, lead, decided_at=moved.decided_at)
        if number < 10:
            makers.make_class(places=3, athletes=[makers.make_athlete()])
    assert count() == before <= 15
    assert "And 11 more after these" in text(lead_client.get(reverse("places")))


@pytest.mark.parametrize("role", ["coach", "desk", "guardian"])
def test_what_only_the_lead_may_do_is_refused_to_others(
    role: str,
    moved: SignOff,
    second: GymClass,
    request: pytest.FixtureRequest,
    ada: Athlete,
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")
    back = {"from_tier": "2", "to_tier": "1", "sentence": "Back."}
    for name, args, sent in (
        ("sign_off_undo", [moved.pk], {}),
        ("sign_off_settle", [moved.pk], {"stays": "yes"}),
        ("move_back", ["ada"], back),
        ("place_give", ["ada"], {"gym_class": "second"}),
    ):
        assert client.post(reverse(name, args=args), sent).status_code == 404, name
    row = SignOff.objects.get()
    assert (row.undone_at, row.stays, tier_of(ada)) == (None, False, 2)
    assert not Enrolment.objects.exists()

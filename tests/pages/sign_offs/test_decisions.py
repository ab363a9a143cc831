"""Recent decisions, undoing one, and going back a tier."""

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


class TestTheList:
    def test_a_decision_says_why_and_what_the_tool_said_then(
        self, lead_client: Client, moved: SignOff
    ) -> None:
        page = text(lead_client.get(reverse("sign_offs")))

        assert "Ada moved up: Tier 1 → to Tier 2" in page
        assert "2 Mar 2026, 11:55 , Lee" in page
        assert "Steady on every ladder for weeks." in page
        assert "Although the tool said building: Hangs well elsewhere." in page
        assert "The tool said: Building unlikely yet, 20%" in page
        assert "Land still on two feet: Secure" in page
        assert "until tomorrow 11:55" in page

    def test_it_leads_to_the_certificate_and_later_to_moving_back(
        self, lead_client: Client, moved: SignOff
    ) -> None:
        certificate = reverse("certificate", args=["ada", moved.pk])
        back, undo = reverse("move_back", args=["ada"]), reverse("sign_off_undo", args=[moved.pk])
        page = lead_client.get(reverse("sign_offs")).content.decode()
        assert certificate in page
        assert undo in page
        assert back not in page

        SignOff.objects.update(decided_at=moved.decided_at - 2 * DAY)
        page = lead_client.get(reverse("sign_offs")).content.decode()
        assert certificate in page
        assert undo not in page
        assert back in page

    def test_an_undone_decision_says_so_and_offers_nothing(
        self, lead_client: Client, moved: SignOff
    ) -> None:
        page = lead_client.post(reverse("sign_off_undo", args=[moved.pk]), follow=True)

        assert "Undone: Ada is in Tier 1 again." in text(page)
        assert "Undone 2 Mar 2026, 12:00 by Lee. It does not count." in text(page)
        for name in ("certificate", "move_back", "sign_off_undo"):
            args = {"certificate": ["ada", moved.pk], "move_back": ["ada"]}.get(name, [moved.pk])
            assert reverse(name, args=args) not in page.content.decode()
        assert tier_of(moved.athlete) == 1

    def test_before_the_first_decision_it_says_where_to_begin(self, lead_client: Client) -> None:
        page = lead_client.get(reverse("sign_offs"))
        assert "Nobody has been moved yet" in text(page)

    def test_many_come_page_by_page_in_as_many_queries_as_one(
        self, lead_client: Client, moved: SignOff, lead: StaffMember
    ) -> None:
        def count() -> int:
            with CaptureQueriesContext(connection) as asked:
                assert lead_client.get(reverse("sign_offs")).status_code == 200
            return len(asked)

        count()
        before = count()
        for _ in range(60):
            makers.make_sign_off(
                makers.make_athlete(tier=2),
                lead,
                decided_at=moved.decided_at,
                engine_said=moved.engine_said,
            )
        assert count() == before <= 15
        page = lead_client.get(reverse("sign_offs"), {"page": 3})
        assert "Newer" in text(page)
        assert "Ada moved up" in text(page)


class TestUndoing:
    def test_a_second_tap_is_answered_and_changes_nothing(
        self, lead_client: Client, moved: SignOff
    ) -> None:
        address = reverse("sign_off_undo", args=[moved.pk])
        lead_client.post(address)
        page = text(lead_client.post(address, follow=True))
        assert "Ada: this was undone already, on 2 Mar 2026 at 12:00." in page
        assert tier_of(moved.athlete) == 1

    def test_too_late_it_says_what_to_do_instead(self, lead_client: Client, moved: SignOff) -> None:
        SignOff.objects.update(decided_at=moved.decided_at - DAY)
        address = reverse("sign_off_undo", args=[moved.pk])
        page = text(lead_client.post(address, follow=True))
        assert "more than a day has passed, so this stands. Take a new decision" in page
        assert tier_of(moved.athlete) == 2

    def test_a_decision_that_is_not_there_is_not_found(self, lead_client: Client) -> None:
        for name in ("sign_off_undo", "sign_off_settle"):
            assert lead_client.post(reverse(name, args=[999])).status_code == 404

    def test_what_becomes_of_a_place_given_with_it_is_told(
        self, lead_client: Client, moved: SignOff, second: GymClass
    ) -> None:
        give = reverse("place_give", args=["ada"])
        lead_client.post(give, {"gym_class": "second", "from_day": "2026-03-04"})
        page = text(lead_client.post(reverse("sign_off_undo", args=[moved.pk]), follow=True))
        assert "The place in Second class is given back." in page
        assert not Enrolment.objects.exists()

        SignOff.objects.update(undone_at=None, undone_by=None)
        Athlete.objects.filter(code="ada").update(tier=2)
        lead_client.post(give, {"gym_class": "second", "from_day": "2026-03-02"})
        page = text(lead_client.post(reverse("sign_off_undo", args=[moved.pk]), follow=True))
        assert "The place in Second class has begun and stays: end it in the admin." in page
        assert Enrolment.objects.count() == 1


class TestMovingBack:
    def test_it_asks_for_a_sentence_and_then_moves_back(
        self, lead_client: Client, moved: SignOff, ada: Athlete
    ) -> None:
        address = reverse("move_back", args=["ada"])
        assert "Ada is in Tier 2." in text(lead_client.get(address))
        sent = {"from_tier": "2", "to_tier": "1", "sentence": ""}
        refused = lead_client.post(address, sent)
        assert refused.status_code == 422
        assert "Say in a sentence why" in text(refused)
        assert tier_of(ada) == 2

        page = text(lead_client.post(address, sent | {"sentence": "Lost heart."}, follow=True))
        assert "Ada is in Tier 1 again." in page
        assert "Ada moved back: Tier 2 → to Tier 1" in page
        assert tier_of(ada) == 1

    def test_a_double_tap_goes_back_once(
        self, lead_client: Client, ada: Athlete, tiers: dict[int, Tier]
    ) -> None:
        makers.make_tier(3)
        Athlete.objects.filter(pk=ada.pk).update(tier=3)
        sent = {"from_tier": "3", "to_tier": "2", "sentence": "Too hard."}
        for _ in range(2):
            page = lead_client.post(reverse("move_back", args=["ada"]), sent, follow=True)
        assert "Nothing was moved twice" in text(page)
        assert tier_of(ada) == 2

    def test_from_the_first_tier_there_is_nowhere_to_go(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        address = reverse("move_back", args=["ada"])
        assert "in the first tier already" in text(lead_client.get(address))
        sent = {"from_tier": "1", "to_tier": "2", "sentence": "Up."}
        assert lead_client.post(address, sent).status_code == 422
        assert tier_of(ada) == 1

"""A setup as a whole: publish, take back, change what was used, rename, throw away."""

from datetime import date, timedelta

from django.test import Client
from django.urls import reverse

from progress.models import Setup, Skill, StaffMember
from tests import makers
from tests.pages.floor.test_builder import words
from tests.usecases.floors.floors import Hall

WEEK = timedelta(weeks=1)


class TestTheWholeSetup:
    def test_publishing_with_a_gap_says_what_to_mend_and_where(
        self, draft: Hall, coach_client: Client
    ) -> None:
        draft.beam.variants.all().delete()
        coach_client.post(reverse("floor_publish", args=[draft.setup.pk]), {"do": "publish"})

        page = words(coach_client, draft)
        assert f'href="#stop-{draft.left.pk}-{draft.beam.pk}"' in page
        assert "Add at least one, with the skill it practises." in page
        assert not Setup.objects.get(pk=draft.setup.pk).published

    def test_publish_and_take_back(
        self, draft: Hall, coach_client: Client, today: date, coach: StaffMember
    ) -> None:
        publish = reverse("floor_publish", args=[draft.setup.pk])
        coach_client.post(publish, {"do": "publish"})
        setup = Setup.objects.get(pk=draft.setup.pk)
        assert (setup.week, setup.published_by) == (today + WEEK, coach)
        page = words(coach_client, draft)
        assert "Published 2 March" in page
        assert "Take back to draft" in page
        assert "Move Beam up" not in page

        coach_client.post(publish, {"do": "take-back"})
        assert Setup.objects.get(pk=draft.setup.pk).is_draft

    def test_a_used_setup_is_read_and_changed_by_a_copy(
        self, stands: Hall, coach_client: Client, coach: StaffMember, today: date
    ) -> None:
        variant = stands.beam.variants.get()
        athlete = makers.make_athlete("ada")
        makers.make_attempt(athlete, variant.skill, "clean", variant=variant, coach=coach)
        page = words(coach_client, stands)
        assert "Take back to draft" not in page
        assert 'value="change">Change it from today</button>' in page

        url = reverse("floor_publish", args=[stands.setup.pk])
        answer = coach_client.post(url, {"do": "change"})

        new = Setup.objects.get(planned_for=today)
        assert answer["Location"] == f"/floor/{new.pk}/"

    def test_a_past_week_offers_a_copy_alone(
        self, coach_client: Client, today: date, small_catalogue: dict[str, Skill]
    ) -> None:
        past = makers.make_setup(today - WEEK)
        page = coach_client.get(reverse("floor_setup", args=[past.pk])).content.decode()

        assert "This week is past" in page
        assert "Copy to week of 9 March" in page
        for button in ("Take back to draft", "Change it from today", "Publish for"):
            assert button not in page

    def test_another_week_and_a_name(self, draft: Hall, coach_client: Client, today: date) -> None:
        url = reverse("floor_name", args=[draft.setup.pk])
        coach_client.post(url, {"name": "Crossing", "week": (today + 3 * WEEK).isoformat()})
        setup = Setup.objects.get(pk=draft.setup.pk)
        assert (setup.name, setup.planned_for) == ("Crossing", today + 3 * WEEK)

        coach_client.post(url, {"name": "Crossing", "week": "2026-02-30"})
        assert "No week was chosen" in words(coach_client, draft)

    def test_a_draft_is_thrown_away_after_a_question(
        self, draft: Hall, coach_client: Client
    ) -> None:
        url = reverse("floor_throw_away", args=[draft.setup.pk])
        coach_client.get(url)
        assert Setup.objects.filter(pk=draft.setup.pk).exists()

        assert coach_client.post(url)["Location"] == reverse("floor_weeks")
        assert not Setup.objects.filter(pk=draft.setup.pk).exists()

    def test_a_published_one_is_not_thrown_away(self, stands: Hall, coach_client: Client) -> None:
        coach_client.post(reverse("floor_throw_away", args=[stands.setup.pk]))

        assert Setup.objects.filter(pk=stands.setup.pk).exists()

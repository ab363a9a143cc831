"""Notes and holds: both from the sheet and from the athlete's page, neither for the family."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Hold, Ladder, Note, StaffMember
from tests import makers

pytestmark = pytest.mark.usefixtures("monday_class", "floor")

NOTES, HOLD, PAGE = "/athletes/ada/notes/", "/athletes/ada/hold/", "/athletes/ada/"
SHEET = "/classes/monday/checks/"


def page_of(client: Client, path: str = PAGE) -> str:
    response = client.get(path)
    assert response.status_code == 200
    return response.content.decode()


class TestNotes:
    def test_a_note_is_kept_and_shown_on_the_page_and_the_sheet(
        self, coach_client: Client, coach: StaffMember
    ) -> None:
        response = coach_client.post(NOTES, {"text": "  Likes to   go first. "})

        assert response["Location"] == PAGE
        assert Note.objects.get().written_by == coach
        for path in (PAGE, NOTES, SHEET):
            assert "Likes to go first." in page_of(coach_client, path)

    def test_the_family_reads_it_only_where_the_box_is_ticked(
        self, coach_client: Client, guardian_client: Client
    ) -> None:
        coach_client.post(NOTES, {"text": "For us."})
        coach_client.post(NOTES, {"text": "For all.", "for_family": "on"})
        Note.objects.update(written_at=makers.moment(hour=9))

        assert page_of(coach_client).count("Shown to the family.") == 1
        family = page_of(guardian_client, "/family/")
        assert "For all." in family
        assert "For us." not in family

    def test_from_the_sheet_one_comes_back_to_the_sheet(self, coach_client: Client) -> None:
        assert 'name="sheet" value="monday"' in page_of(coach_client, NOTES + "?sheet=monday")

        response = coach_client.post(NOTES, {"text": "Brave today.", "sheet": "monday"})

        assert response["Location"] == SHEET

    @pytest.mark.parametrize(("text", "said"), [("  ", "Write a few words"), ("x" * 301, "300")])
    def test_an_empty_or_long_note_is_refused_with_its_text_kept(
        self, coach_client: Client, text: str, said: str
    ) -> None:
        response = coach_client.post(NOTES, {"text": text})

        assert response.status_code == 422
        assert said in response.content.decode()
        assert text.strip() in response.content.decode()
        assert not Note.objects.exists()

    def test_its_author_takes_it_back(
        self, coach_client: Client, ada: Athlete, coach: StaffMember
    ) -> None:
        note = Note.objects.create(athlete=ada, text="Wrong child.", written_by=coach)
        back = reverse("strike_note", args=["ada", note.pk])
        assert back in page_of(coach_client)

        coach_client.post(back)

        assert "Wrong child." not in page_of(coach_client)

    def test_another_coachs_note_is_only_for_the_lead_to_strike(
        self, coach_client: Client, lead_client: Client, ada: Athlete, lead: StaffMember
    ) -> None:
        jo = makers.make_staff("jo")
        note = Note.objects.create(athlete=ada, text="From Jo.", written_by=jo)
        back = reverse("strike_note", args=["ada", note.pk])
        assert back not in page_of(coach_client)

        coach_client.post(back)
        assert "Only who wrote it or the lead" in page_of(coach_client)
        assert Note.objects.standing().exists()
        lead_client.post(back)
        assert not Note.objects.standing().exists()

    def test_a_note_of_another_athlete_is_not_reached_through_this_one(
        self, coach_client: Client, bo: Athlete, coach: StaffMember
    ) -> None:
        note = Note.objects.create(athlete=bo, text="Bo.", written_by=coach)

        assert coach_client.post(f"/athletes/ada/notes/{note.pk}/take-back/").status_code == 404

    def test_the_family_never_sees_a_note(
        self, guardian_client: Client, coach_client: Client, ada: Athlete
    ) -> None:
        Note.objects.create(athlete=ada, text="Staff talk.")

        for path in (reverse("family_page"), reverse("child_page", args=["ada"])):
            assert "Staff talk." not in page_of(guardian_client, path)
        child = reverse("child_page", args=["ada"])
        assert "Staff talk." not in page_of(coach_client, child)


class TestHolds:
    def test_the_sheet_has_a_button_for_each_reason_in_the_athletes_line(
        self, coach_client: Client
    ) -> None:
        page = page_of(coach_client, SHEET)

        for kind in ("injury", "absence", "wish", "other"):
            assert f'formaction="{HOLD}" name="kind" value="{kind}"' in page

    def test_a_tap_on_a_reason_places_a_hold_with_a_review_in_two_weeks(
        self, coach_client: Client, coach: StaffMember, today: date
    ) -> None:
        response = coach_client.post(HOLD, {"kind": "wish", "sheet": "monday"})

        hold = Hold.objects.get()
        assert response["Location"] == SHEET
        assert (hold.kind, hold.starts, hold.placed_by) == ("wish", today, coach)
        assert hold.review == today + timedelta(days=14)
        assert "Ada is on hold from Mon 2 Mar. Ask again on Mon 16 Mar." in page_of(
            coach_client, SHEET
        )

    def test_a_double_tap_places_one(self, coach_client: Client) -> None:
        for _ in range(2):
            coach_client.post(HOLD, {"kind": "injury"})

        assert Hold.objects.count() == 1

    def test_a_remark_and_some_ladders_alone(self, coach_client: Client) -> None:
        hanging = Ladder.objects.get(code="hanging")
        assert "Only these ladders" in page_of(coach_client, HOLD)

        coach_client.post(
            HOLD, {"kind": "other", "reason": "Until spoken to", "ladders": hanging.pk}
        )

        hold = Hold.objects.get()
        assert hold.reason == "Until spoken to"
        assert list(hold.ladders.all()) == [hanging]

    def test_an_unknown_reason_is_refused_with_the_remark_kept(self, coach_client: Client) -> None:
        response = coach_client.post(HOLD, {"kind": "laziness", "reason": "Kept words"})

        assert response.status_code == 422
        assert "Choose one of the reasons." in response.content.decode()
        assert "Kept words" in response.content.decode()
        assert not Hold.objects.exists()

    def test_only_the_lead_is_offered_to_lift_it_and_only_the_lead_can(
        self, coach_client: Client, lead_client: Client, ada: Athlete, today: date
    ) -> None:
        hold = makers.make_hold(ada, starts=today - timedelta(days=3))
        lift = reverse("end_hold", args=["ada", hold.pk])

        assert lift not in page_of(coach_client)
        assert coach_client.post(lift).status_code == 404
        assert lift in page_of(lead_client)
        lead_client.post(lift)

        hold.refresh_from_db()
        assert hold.lifted == today
        assert "a step easier" in page_of(lead_client)

    def test_a_hold_that_has_not_started_is_not_lifted(
        self, lead_client: Client, ada: Athlete, today: date
    ) -> None:
        hold = makers.make_hold(ada, starts=today + timedelta(days=1))

        lead_client.post(reverse("end_hold", args=["ada", hold.pk]))

        assert "has not started yet" in page_of(lead_client)

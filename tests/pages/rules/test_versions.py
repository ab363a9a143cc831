"""The rules' page when versions meet: another lead saved meanwhile, and going back."""

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.models import GymClass, RuleBook
from tests.pages.rules.forms_on_a_page import body, filled, lou_saves, previewed, save, saved, text

pytestmark = pytest.mark.usefixtures("monday_class")


class TestAnotherLeadSavedMeanwhile:
    """Theirs is told, mine stays in the fields, and nothing is overwritten unseen."""

    @pytest.fixture
    def preview(self, lead_client: Client) -> HttpResponse:
        seen = previewed(lead_client, ready_at="80", gate_days="3")
        lou_saves(ready_at=0.7, clean_days=3, least_adults=3)
        return seen

    def test_saving_what_was_previewed_on_older_rules_is_refused(
        self, lead_client: Client, preview: HttpResponse
    ) -> None:
        response = saved(lead_client, preview, why="Mine.")

        assert response.status_code == 409
        page = text(response)
        assert "Somebody saved version 2 while you were writing" in page
        assert "Lou: More eyes." in page
        assert "Suggested as ready from: 65% → 70%" in page
        assert "Never fewer adults than: 2 adults → 3 adults" in page
        assert RuleBook.in_force().version == 2

    def test_what_i_typed_stands_over_theirs_and_saves_beside_theirs(
        self, lead_client: Client, preview: HttpResponse
    ) -> None:
        conflict = saved(lead_client, preview, why="Mine.")

        form = filled(body(conflict), "rules_preview")
        assert (form["ready_at"], form["gate_days"], form["clean_days"]) == (["80"], ["3"], ["3"])
        again = lead_client.post(reverse("rules_preview"), form)
        assert "Mine." in body(again)
        saved(lead_client, again, why="Mine.")
        rules = RuleBook.in_force()
        assert (rules.version, rules.ready_at, rules.gate_days) == (3, 0.8, 3)
        assert (rules.clean_days, rules.least_adults) == (3, 3)

    def test_a_preview_over_older_rules_is_told_too(
        self, lead_client: Client, preview: HttpResponse
    ) -> None:
        sent = filled(body(preview), "rules_save")

        assert lead_client.post(reverse("rules_preview"), sent).status_code == 409


class TestGoingBack:
    @pytest.fixture(autouse=True)
    def _second(self, lead_client: Client, monday_class: GymClass) -> None:
        save(lead_client, ready_at="80")

    def back(self, number: int = 1) -> str:
        return reverse("rules_back", args=[number])

    def test_it_leads_through_the_same_preview(self, lead_client: Client) -> None:
        assert f'href="{self.back()}"' in body(lead_client.get(reverse("rules")))

        page = text(lead_client.get(self.back()))

        assert "If version 1 came back." in page
        assert "Suggested as ready from: 80% → 65%" in page
        assert "Save as version 3" in page
        assert RuleBook.in_force().version == 2

    def test_it_becomes_the_newest_and_the_ones_between_stay(self, lead_client: Client) -> None:
        sent = {"expected": "2", "why": "It was better."}
        response = lead_client.post(self.back(), sent, follow=True)

        assert "Version 3 holds from now on. It is version 1 again." in text(response)
        assert RuleBook.in_force().ready_at == 0.65
        assert RuleBook.objects.count() == 2

    @pytest.mark.parametrize(
        ("sent", "status", "says"),
        [
            ({"expected": "2", "why": ""}, 422, "Say in a sentence why"),
            ({"expected": "1", "why": "So it is."}, 409, "Somebody saved version 2"),
            ({"expected": "x", "why": "So it is."}, 409, "Somebody saved version 2"),
            ({"why": "So it is."}, 409, "So it is."),
        ],
    )
    def test_what_does_not_do_changes_nothing_and_loses_nothing(
        self, lead_client: Client, sent: dict[str, str], status: int, says: str
    ) -> None:
        response = lead_client.post(self.back(), sent)

        assert response.status_code == status
        assert says in text(response)
        assert sent["why"] in body(response)
        assert RuleBook.in_force().version == 2

    def test_a_version_that_never_was_is_not_there(self, lead_client: Client) -> None:
        assert lead_client.get(self.back(9)).status_code == 404

    def test_the_version_in_force_is_nothing_to_go_back_to(self, lead_client: Client) -> None:
        response = lead_client.get(self.back(2), follow=True)

        assert "the same as the rules in force" in text(response)
        assert f'href="{self.back(2)}"' not in body(response)

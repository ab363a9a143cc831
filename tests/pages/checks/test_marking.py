"""The register and the choice of skills on the sheet."""

import json

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Meeting, RegisterEntry
from tests.pages.checks.sheets import open_page, row_of, tabs

pytestmark = pytest.mark.usefixtures("monday_class", "floor")


def mark(client: Client, **marks: str) -> str:
    response = client.post(reverse("sheet_register", args=["monday"]), marks)
    assert response.status_code == 302
    return str(response["Location"])


def came(athlete: Athlete) -> bool:
    return RegisterEntry.objects.get(athlete=athlete).present


def away_part(page: str) -> str:
    return page.partition('id="away"')[2].partition("</details>\n</div>")[0]


class TestRegister:
    def test_everybody_is_here_until_marked_away_and_looking_stores_nothing(
        self, coach_client: Client
    ) -> None:
        assert "2 here" in open_page(coach_client)
        assert not Meeting.objects.exists()

    def test_a_tap_marks_away_and_another_undoes_it(
        self, coach_client: Client, bo: Athlete
    ) -> None:
        mark(coach_client, away="bo")
        page = open_page(coach_client)
        assert not came(bo)
        assert "1 here, 1 away" in page
        assert 'name="here" value="bo"' in page

        mark(coach_client, here="bo")
        assert came(bo)
        assert "2 here<" in open_page(coach_client)

    def test_away_athletes_stand_folded_below_and_can_still_be_marked(
        self, coach_client: Client, bo: Athlete
    ) -> None:
        mark(coach_client, away="bo")
        page = open_page(coach_client)

        assert page.index('data-athlete="ada">') < page.index('id="away"')
        assert 'type="radio"' in row_of(away_part(page), bo)
        assert row_of(page.partition('id="away"')[0], bo) == ""

    def test_the_view_is_kept(self, coach_client: Client) -> None:
        assert mark(coach_client, away="bo", skill="HANG-1").startswith(
            "/classes/monday/checks/?skill=HANG-1"
        )

    def test_somebody_of_another_class_is_refused_in_words(
        self, coach_client: Client, cy: Athlete
    ) -> None:
        mark(coach_client, away="cy")

        assert "Not in this class today: cy." in open_page(coach_client)
        assert not RegisterEntry.objects.filter(athlete=cy).exists()

    def test_the_script_is_answered_in_json(self, coach_client: Client, bo: Athlete) -> None:
        address = reverse("sheet_register", args=["monday"])
        stored = coach_client.post(address, {"away": "bo"}, headers={"accept": "application/json"})
        refused = coach_client.post(address, {"away": "x"}, headers={"accept": "application/json"})

        assert json.loads(stored.content) == {"stored": True}
        assert not came(bo)
        assert refused.status_code == 409
        assert "Not in this class" in json.loads(refused.content)["problem"]


class TestSkills:
    def choose(self, client: Client, **choice: str) -> int:
        return client.post(reverse("sheet_skills", args=["monday"]), choice).status_code

    def test_a_skill_can_be_added_and_says_so(self, coach_client: Client) -> None:
        assert "HANG-3" not in tabs(open_page(coach_client))

        assert self.choose(coach_client, add="HANG-3") == 302

        page = open_page(coach_client)
        assert "HANG-3" in tabs(page)
        assert "added by a coach" in page

    def test_a_skill_can_be_taken_off_and_added_again(self, coach_client: Client) -> None:
        first = tabs(open_page(coach_client))[0]

        self.choose(coach_client, drop=first)
        assert first not in tabs(open_page(coach_client))
        self.choose(coach_client, add=first)
        assert first in tabs(open_page(coach_client))

    def test_an_unknown_skill_is_not_there(self, coach_client: Client) -> None:
        assert self.choose(coach_client, add="no-such-skill") == 404

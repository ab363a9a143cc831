"""The athlete page."""

import json
import re
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete
from tests import makers

STATES = "Secure|Nearly|Building|Needs a fresh look|Not checked yet"
FIGURE = re.compile(r'<script id="ability-figure" type="application/json">(.+?)</script>')


def page_of(client: Client, code: str) -> str:
    response = client.get(reverse("athlete_page", args=[code]))
    assert response.status_code == 200
    return response.content.decode()


def rungs(page: str) -> list[str]:
    return [text.partition("</li>")[0] for text in page.split('<li class="rung">')[1:]]


def test_every_skill_of_the_catalogue_is_a_rung_with_words(
    coach_client: Client, ada: Athlete
) -> None:
    drawn = rungs(page_of(coach_client, "ada"))

    assert len(drawn) == 5
    for text in drawn:
        assert re.search(
            r"(Secure|Nearly|Building|Needs a fresh look|Not checked yet)</span>", text
        )
        assert re.search(r"(\d+%|under 1%|over 99%) \(\d+–\d+\)", text)
        assert 'aria-hidden="true"' in text


def test_a_checked_rung_is_filled_and_an_unchecked_one_is_not(
    coach_client: Client, ada: Athlete
) -> None:
    drawn = rungs(page_of(coach_client, "ada"))
    checked = [text for text in drawn if "Not checked yet" not in text]

    assert len(checked) == 2
    for text in drawn:
        assert ("rung-fill" in text) is (text in checked)


def test_a_rung_names_what_it_needs_and_whether_it_is_a_safety_skill(
    coach_client: Client, ada: Athlete
) -> None:
    drawn = rungs(page_of(coach_client, "ada"))
    by_name = {re.findall(r'rung-name">([^<]+)<', text)[0]: text for text in drawn}

    assert "Needs Land still on two feet" in by_name["Land from knee height"]
    assert "Safety skill" in by_name["Land from knee height"]
    assert "optional" in by_name["Turn around"]


def test_the_reasons_stand_beside_the_decision(coach_client: Client, bo: Athlete) -> None:
    page = page_of(coach_client, "bo")

    assert "The tool suggests" in page
    assert "Because" in page
    assert "Hang for ten seconds" in page.partition("Holding back")[2].partition("</div>")[0]


def test_a_child_nobody_has_checked_is_not_called_unable(coach_client: Client, cy: Athlete) -> None:
    page = page_of(coach_client, "cy")

    assert "That says nothing about what Cy can do" in page


def test_the_latest_attempts_say_result_day_and_coach(coach_client: Client, bo: Athlete) -> None:
    page = page_of(coach_client, "bo").partition("Latest attempts")[2]

    assert "With help" in page
    assert "Mon 23 Feb" in page
    assert "Kim" in page


def test_the_lead_goes_on_to_the_evidence_and_a_coach_is_not_sent_to_a_closed_page(
    lead_client: Client, coach_client: Client, ada: Athlete
) -> None:
    link = f'href="{reverse("evidence", args=["ada"])}"'

    assert link in page_of(lead_client, "ada")
    assert link not in page_of(coach_client, "ada")
    assert "Check the evidence" not in page_of(coach_client, "ada")


def test_an_ended_hold_is_gone_and_a_standing_one_is_shown(
    coach_client: Client, ada: Athlete, today: date
) -> None:
    hold = makers.make_hold(ada, reason="Asked to rest.")
    assert "Asked to rest." in page_of(coach_client, "ada")

    hold.lifted = today
    hold.save()
    assert "Asked to rest." not in page_of(coach_client, "ada")


class TestChart:
    """Ability over time."""

    @pytest.fixture
    def figure(self, coach_client: Client, ada: Athlete) -> dict[str, Any]:
        page = page_of(coach_client, "ada")
        found = json.loads(FIGURE.findall(page)[0])
        assert isinstance(found, dict)
        return found

    def test_the_band_lies_round_the_line(self, figure: dict[str, Any]) -> None:
        low, high, mean = (trace["y"] for trace in figure["data"])

        assert len(low) == len(high) == len(mean) > 1
        assert all(a <= b <= c for a, b, c in zip(low, mean, high, strict=True))

    def test_each_tier_has_its_line_and_its_name(self, figure: dict[str, Any]) -> None:
        layout = figure["layout"]

        assert [note["text"] for note in layout["annotations"]] == ["Tier 1", "Tier 2"]
        assert len(layout["shapes"]) == 2

    def test_no_colour_is_fixed_so_that_it_can_follow_the_dark(
        self, figure: dict[str, Any]
    ) -> None:
        assert "#" not in json.dumps(figure)
        assert "rgb" not in json.dumps(figure)

    def test_a_sentence_says_what_the_chart_shows(self, coach_client: Client, ada: Athlete) -> None:
        assert "the estimate has" in page_of(coach_client, "ada")

    def test_the_library_is_not_loaded_with_the_page(
        self, coach_client: Client, ada: Athlete
    ) -> None:
        page = page_of(coach_client, "ada")

        assert re.findall(r'<script src="([^"]+)"', page) == ["/static/progress/charts.js"]
        assert 'data-plotly="/static/plotly.min.js"' in page

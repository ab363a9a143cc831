"""The difficulty map: what is askew first, then the map, then every skill in a table."""

import json
import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.engine.placing import Placed
from progress.models import Athlete, ResultChoice, Skill
from progress.pages.difficulty.charts import EIGHT_IN_TEN, SHAPES, map_chart, tier_marks
from progress.pages.difficulty.words import between, logits, saying
from progress.usecases.see_difficulty import see_difficulty
from tests import makers

MISS, CLEAN = ResultChoice.MISS, ResultChoice.CLEAN


def page_of(client: Client, query: str = "") -> str:
    response = client.get(reverse("difficulty") + query)
    assert response.status_code == 200
    return response.content.decode()


def figure_of(page: str) -> dict[str, Any]:
    found = re.findall(r'<script id="map-figure" type="application/json">(.*?)</script>', page)
    return dict(json.loads(found[0]))


def rows_of(page: str) -> list[str]:
    table = page.partition('class="skills"')[2]
    return re.findall(r'role="rowheader">([^<]+)<', table)


def placed(**values: Any) -> Placed:
    plain = {
        **{"skill": "A", "ladder": "one", "tier": 2, "difficulty": 1.0, "low": 0.5, "high": 1.5},
        **{"p_harder": 0.1, "p_easier": 0.1, "chance": 0.6, "attempts": 99, "athletes": 20},
        **{"enough": True, "points_to": None},
    }
    return Placed(**{**plain, **values})


@pytest.fixture
def hard(ada: Athlete, small_catalogue: dict[str, Skill], today: date) -> Skill:
    """A safety skill of tier 1 that nobody does, where tier 2 is done by all."""
    skill = makers.make_skill("HARD", ladder="hanging", gate=True, name="Hold & <turn>")
    days = [today - timedelta(weeks=weeks) for weeks in (5, 4, 3, 2, 1)]
    for number in range(12):
        child = makers.make_athlete(tier=1 + number % 2)
        makers.make_attempts(child, skill, [MISS] * 6, days=days)
        for code in ("LAND-1", "HANG-1", "LAND-2", "HANG-2"):
            makers.make_attempts(child, small_catalogue[code], [CLEAN] * 6, days=days)
    return skill


class TestWords:
    @pytest.mark.parametrize(
        ("values", "words"),
        [
            ({"points_to": 3, "p_harder": 0.95}, "Nearer to tier 3"),
            ({"enough": False, "p_harder": 0.99}, "Not enough tries to say"),
            ({"p_harder": None, "p_easier": None}, "No other tier to compare with"),
            ({"p_harder": 0.8}, "Perhaps too hard here, not sure"),
            ({"p_easier": 0.89}, "Perhaps too easy here, not sure"),
            ({"p_harder": None, "p_easier": 0.3}, "Sits where it is"),
            ({}, "Sits where it is"),
        ],
    )
    def test_figures_are_put_into_words(self, values: dict[str, Any], words: str) -> None:
        assert saying(placed(**values)).words == words

    def test_places_have_a_true_minus_and_never_minus_nothing(self) -> None:
        assert [logits(x) for x in (-1.25, -0.04, 0.04, 2)] == ["−1.2", "0.0", "0.0", "2.0"]
        assert between(placed(low=-0.5, high=1.25)) == "−0.5 to 1.2"


class TestPage:
    def test_without_skills_it_says_so(self, lead_client: Client) -> None:
        assert "There are no skills yet" in page_of(lead_client)

    @pytest.mark.usefixtures("small_catalogue")
    def test_without_tries_it_says_what_it_takes(self, lead_client: Client) -> None:
        page = page_of(lead_client)
        assert "not enough tries yet" in page
        assert page.partition('class="skills"')[2].count("Not enough tries to say") == 5
        assert "30 tries by 10 children" in page

    @pytest.mark.usefixtures("hard")
    def test_what_is_askew_comes_first_with_its_ground_and_its_doubt(
        self, lead_client: Client
    ) -> None:
        page = page_of(lead_client)
        first, _, rest = page.partition('id="map"')
        assert "Hold &amp; &lt;turn&gt;" in first
        assert "Nearer to tier 2" in first
        assert "sure: it is harder than the middle skill of tier 2" in first
        assert "90% sure it lies between" in first
        assert "It is a safety skill, so it may rightly sit where it is" in first
        assert "not the only ground for a tier" in first
        assert f"{reverse('retier')}?skill=HARD&amp;tier=2&amp;look=1" in first
        assert "Every skill" in rest

    @pytest.mark.usefixtures("hard")
    def test_the_distance_for_eight_in_ten_is_that_of_the_model(self, lead_client: Client) -> None:
        """Logistic: ln(0.8 / 0.2) = ln 4 = 1.386."""
        assert pytest.approx(1.3863, abs=1e-4) == EIGHT_IN_TEN
        page = page_of(lead_client)
        assert "1.4 further right than the skill, it is 8 times in 10" in page
        bar = figure_of(page)["layout"]["shapes"][0]
        assert bar["x1"] - bar["x0"] == pytest.approx(EIGHT_IN_TEN)

    @pytest.mark.usefixtures("hard")
    def test_one_ladder_at_a_time(self, lead_client: Client) -> None:
        page = page_of(lead_client, "?ladder=hanging")
        assert set(rows_of(page)) == {
            *("Hold &amp; &lt;turn&gt;", "Hang for ten seconds"),
            *("Travel hand to hand", "Turn around"),
        }
        assert len(rows_of(page_of(lead_client, "?ladder=no-such-ladder"))) == 6

    @pytest.mark.usefixtures("hard")
    @pytest.mark.parametrize(
        "column",
        ["Skill", "Tier", "Difficulty", "Average child", "Tries", "Children", "The figures say"],
    )
    def test_each_column_sorts_both_ways(self, lead_client: Client, column: str) -> None:
        def link(page: str) -> str:
            found = re.findall(rf'class="sort" href="([^"]+)">{column}<', page)[0]
            return str(found).replace("&amp;", "&")

        once = page_of(lead_client, link(page_of(lead_client)))
        twice = page_of(lead_client, link(once))
        assert sorted(rows_of(once)) == sorted(rows_of(twice))
        assert rows_of(once) != rows_of(twice) or column in {"Children", "Average child"}

    @pytest.mark.usefixtures("hard")
    def test_sorting_by_difficulty_puts_the_hardest_last(self, lead_client: Client) -> None:
        page = page_of(lead_client, "?sort=-difficulty")
        shown = re.findall(r'data-label="Difficulty"><div>([^<]+)<', page)
        numbers = [float(one.replace("−", "-")) for one in shown]
        assert numbers == sorted(numbers, reverse=True)

    @pytest.mark.usefixtures("hard")
    def test_no_child_is_named(self, lead_client: Client) -> None:
        assert "Ada" not in page_of(lead_client)

    def test_queries_do_not_grow_with_the_gym(
        self, hard: Skill, lead_client: Client, today: date
    ) -> None:
        page_of(lead_client)
        with CaptureQueriesContext(connection) as few:
            page_of(lead_client)
        for number in range(40):
            makers.make_skill(ladder=f"ladder-{number % 10}", tier=1 + number % 4)
            makers.make_athlete()
        page_of(lead_client)
        with CaptureQueriesContext(connection) as many:
            page_of(lead_client)
        assert len(many) == len(few) <= 16


class TestChart:
    def test_every_skill_has_its_name_interval_and_mark(self, hard: Skill, today: date) -> None:
        told = see_difficulty(today=today)
        chart = map_chart(told)
        assert chart is not None
        traces = chart.figure["data"]
        written = [text for one in traces if one.get("mode") == "text" for text in one["text"]]
        for skill in told.skills.values():
            assert any(text.startswith(str(skill)[:4]) for text in written)
        (line,) = [one for one in traces if one.get("mode") == "lines"]
        assert [x for x in line["x"] if x is not None] == [
            edge for one in told.placed for edge in (one.low, one.high)
        ]
        marked = [one for one in traces if one.get("mode") == "markers"]
        assert sum(len(one["x"]) for one in marked) == 2 * len(told.placed)

    def test_names_cannot_pass_for_tags(self, hard: Skill, today: date) -> None:
        chart = map_chart(see_difficulty(today=today))
        assert chart is not None
        text = json.dumps(chart.figure)
        assert "Hold &amp; &lt;turn&gt; (nearer to tier 2)" in text
        assert "<turn>" not in text

    def test_nothing_is_drawn_that_the_policy_or_a_plain_machine_would_stop(
        self, hard: Skill, today: date
    ) -> None:
        """Tags but line breaks would be styled inline; scattergl needs a graphics card."""
        chart = map_chart(see_difficulty(today=today))
        assert chart is not None
        assert {one["type"] for one in chart.figure["data"]} == {"scatter", "bar"}
        assert set(re.findall(r"<[^>]*>", json.dumps(chart.figure))) - {"<extra></extra>"} <= {
            "<br>",
            "<extra>",
            "</extra>",
        }

    def test_tiers_differ_in_shape_and_in_shade(self, hard: Skill, today: date) -> None:
        for number in range(3, 9):
            makers.make_skill(tier=number)
        marks = tier_marks(see_difficulty(today=today))
        assert len({mark.symbol for mark in marks}) == len(marks) == len(SHAPES)
        shades = [mark.shade for mark in marks]
        assert shades == sorted(set(shades))
        assert 0 < shades[0] < shades[-1] == 1

    def test_bars_count_every_child_shown(self, hard: Skill, today: date) -> None:
        told = see_difficulty(today=today)
        chart = map_chart(told)
        assert chart is not None
        bars = [one for one in chart.figure["data"] if one["type"] == "bar"]
        assert sum(sum(one["customdata"]) for one in bars) == told.athletes == 13

    def test_a_full_catalogue_of_twelve_ladders_has_a_row_for_each(
        self, lead_client: Client, today: date
    ) -> None:
        for ladder in range(12):
            for tier in range(1, 5):
                makers.make_skill(ladder=f"ladder-{ladder:02d}", tier=tier, name="N" * 90)
        told = see_difficulty(today=today)
        chart, one = map_chart(told), map_chart(told, "ladder-03")
        assert chart is not None
        assert one is not None
        heights = [
            y for trace in chart.figure["data"] if trace.get("mode") == "lines" for y in trace["y"]
        ]
        assert len({y for y in heights if y is not None}) == 48
        assert one.height < chart.height < 3000
        page = page_of(lead_client)
        assert len(rows_of(page)) == 30
        assert len(rows_of(page_of(lead_client, "?page=2"))) == 18

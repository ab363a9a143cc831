"""The lead's first list."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from progress.engine.terms import Decision
from progress.models import Athlete
from tests import makers


def page_of(client: Client, query: str = "") -> str:
    response = client.get(reverse("move_up_list") + query)
    assert response.status_code == 200
    return response.content.decode()


def names(page: str) -> list[str]:
    return re.findall(r'class="name" href="[^"]+">([^<]+)<', page)


def decision_of(page: str, name: str) -> str:
    row = page.partition(f">{name}</a>")[2].partition("</tr>")[0]
    return re.findall(r"#decision-([a-z-]+)\"", row)[0].replace("-", "_")


def sort_link(page: str, column: str) -> str:
    return re.findall(rf'class="sort" href="([^"]+)">{column}<', page)[0].replace("&amp;", "&")


@pytest.mark.usefixtures("ada", "bo", "cy")
class TestList:
    def test_everybody_is_on_it_those_to_act_on_first(self, lead_client: Client) -> None:
        page = page_of(lead_client)
        order = [decision_of(page, name) for name in names(page)]
        rank = {"ready": 0, "nearly": 1, "needs_checks": 2, "building": 3}

        assert sorted(names(page)) == ["Ada", "Bo", "Cy"]
        assert order == sorted(order, key=rank.__getitem__)

    @pytest.mark.parametrize("decision", list(Decision))
    def test_the_filter_keeps_those_with_one_decision(
        self, lead_client: Client, decision: Decision
    ) -> None:
        everybody = page_of(lead_client)
        wanted = [name for name in names(everybody) if decision_of(everybody, name) == decision]

        assert names(page_of(lead_client, f"?decision={decision}")) == wanted

    def test_an_unknown_decision_means_everybody(self, lead_client: Client) -> None:
        assert len(names(page_of(lead_client, "?decision=splendid"))) == 3

    @pytest.mark.parametrize(
        "column", ["Athlete", "Tier", "Next tier", "Class", "Age", "Last checked"]
    )
    def test_each_column_sorts_both_ways(self, lead_client: Client, column: str) -> None:
        once = page_of(lead_client, sort_link(page_of(lead_client), column))
        twice = page_of(lead_client, sort_link(once, column))

        states = [
            re.findall(rf'aria-sort="(\w+)"><a class="sort" href="[^"]+">{column}<', page)[0]
            for page in (once, twice)
        ]
        assert sorted(states) == ["ascending", "descending"]
        assert sorted(names(once)) == sorted(names(twice)) == ["Ada", "Bo", "Cy"]

    def test_sorting_by_name_keeps_the_filter(self, lead_client: Client) -> None:
        page = page_of(lead_client, "?decision=building")

        assert "decision=building" in sort_link(page, "Athlete")


def test_nobody_moves_up_from_the_highest_tier(lead_client: Client, ada: Athlete) -> None:
    makers.make_athlete("top", name="Top", tier=2)

    page = page_of(lead_client)

    assert names(page)[-1] == "Top"
    assert "In the highest tier" in page
    for decision in Decision:
        assert "Top" not in names(page_of(lead_client, f"?decision={decision}"))


def test_a_gym_without_athletes_is_told_where_they_come_from(lead_client: Client) -> None:
    assert "no athletes yet" in page_of(lead_client)

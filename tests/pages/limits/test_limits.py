"""The page of the floor's limits: read by coaches, changed by the lead, version by version."""

import re
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.engine.rules import CPSU_RATIOS
from progress.models import Role, RuleBook
from progress.usecases.change_rules import change_rules
from tests import makers

pytestmark = pytest.mark.django_db


def address() -> str:
    return reverse("floor_limits")


def filled(client: Client) -> dict[str, Any]:
    """What the lead's form would send as it is shown, without the forms to go back."""
    page = client.get(address()).content.decode()
    form = page.split('class="form limits"')[1].split("</form>")[0]
    sent: dict[str, Any] = {"why": "The hall is small."}
    for tag in re.findall(r"<input[^>]*>", form):
        found = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if found.get("type") != "checkbox":
            sent[found["name"]] = found.get("value", "")
    return sent


def send(client: Client, **changes: Any) -> HttpResponse:
    return client.post(address(), filled(client) | changes)


def text(response: HttpResponse) -> str:
    words = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(words.replace("&#x27;", "'").split())


def test_a_coach_reads_every_limit_with_its_default_and_source(coach_client: Client) -> None:
    response = coach_client.get(address())

    page = text(response)
    assert "Most children on one variant, for each lane 8 children" in page
    assert "Default: 40%. What coaches commonly aim for. (common practice, no source)" in page
    assert "thecpsu.org.uk" in page
    assert "Up to and including 2: one adult for 3 children" in page
    assert "local code, your insurer and your sport’s own guidance win" in page
    assert "<textarea" not in response.content.decode()
    assert "Save the limits" not in page


def test_a_coach_who_sends_something_all_the_same_is_refused(
    coach_client: Client, lead_client: Client
) -> None:
    sent = filled(lead_client) | {"children_per_lane": "6"}

    assert coach_client.post(address(), sent).status_code == 404
    assert not RuleBook.objects.exists()


def test_the_lead_saves_and_the_version_says_what_who_and_why(lead_client: Client) -> None:
    response = send(lead_client, children_per_lane="6", target_centre="82.5")

    assert response.status_code == 302
    rules = RuleBook.in_force()
    assert (rules.version, rules.children_per_lane, rules.target_centre) == (2, 6, 0.825)
    assert rules.ratios == CPSU_RATIOS
    page = text(lead_client.get(address()))
    assert "Version 2 of the rules holds from now on." in page
    assert "Lee The hall is small." in page
    assert "for each lane: 8 children → 6 children" in page
    assert "Best of all at: 85% → 82.5%" in page
    assert "Set by this programme." in page


def test_a_form_sent_as_it_is_changes_nothing(lead_client: Client) -> None:
    response = send(lead_client)

    assert response.status_code == 422
    assert "Nothing is different from the rules in force." in text(response)
    assert not RuleBook.objects.exists()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"why": ""}, "Say in a sentence why"),
        ({"children_per_lane": "0"}, "whole number from 1 to 1000"),
        ({"children_per_lane": "2.5"}, "Write a whole number"),
        ({"longest_wait": "soon"}, "Write a number, such as 8."),
        ({"longest_wait": "nan"}, "Write a number, such as 8."),
        ({"least_adults": ""}, "Write a number, or take the default."),
        ({"least_active_share": "100"}, "below 100%"),
        ({"target_low": "88"}, "must rise"),
        ({"ratios-0-children_per_adult": ""}, "both fields"),
        ({"ratios-5-up_to_age": "3", "ratios-5-children_per_adult": "2"}, "same age"),
        ({"ratios-0-up_to_age": "two"}, "Write a whole number"),
    ],
)
def test_a_wrong_value_comes_back_with_how_to_mend_it(
    lead_client: Client, changes: dict[str, str], says: str
) -> None:
    response = send(lead_client, **changes)

    assert response.status_code == 422
    assert says in text(response)
    assert not RuleBook.objects.exists()


def test_bands_are_added_removed_and_put_in_order(lead_client: Client) -> None:
    response = send(
        lead_client,
        **{
            "ratios-0-remove": "on",
            "ratios-4-up_to_age": "",
            "ratios-4-children_per_adult": "",
            "ratios-5-up_to_age": "5",
            "ratios-5-children_per_adult": "5",
        },
    )

    assert response.status_code == 302
    bands = [(one.up_to_age, one.children_per_adult) for one in RuleBook.in_force().ratios]
    assert bands == [(3, 4), (5, 5), (8, 6), (12, 8)]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"ratios-0-children_per_adult": "4"}, "At age 0 to 2, one adult for 4 children"),
        ({"ratios-0-remove": "on"}, "At age 0 to 2, one adult for 4 children"),
        ({"ratios-3-remove": "on"}, "At age 9 to 12, one adult for 10 children"),
        ({"ratios-1-children_per_adult": "5"}, "At age 3, one adult for 5 children"),
        ({"least_adults": "1"}, "Fewer adults than what was read."),
    ],
)
def test_fewer_adults_than_what_was_read_is_said_plainly(
    lead_client: Client, changes: dict[str, str], says: str
) -> None:
    assert says not in text(lead_client.get(address()))

    send(lead_client, **changes)

    assert says in text(lead_client.get(address()))


def test_more_adults_than_what_was_read_is_nothing_to_warn_of(lead_client: Client) -> None:
    send(lead_client, **{"ratios-4-children_per_adult": "8"})

    assert "asks for fewer adults" not in text(lead_client.get(address()))


def test_removing_every_band_is_refused(lead_client: Client) -> None:
    response = send(lead_client, **{f"ratios-{row}-remove": "on" for row in range(5)})

    assert response.status_code == 422
    assert "Keep at least one band" in text(response)


class TestAnotherLeadSavedMeanwhile:
    """Theirs is told, mine is still in the fields, and saving again keeps both."""

    @pytest.fixture
    def conflict(self, lead_client: Client) -> HttpResponse:
        sent = filled(lead_client) | {"children_per_lane": "6", "why": "Small hall."}
        other = makers.make_staff("lou", role=Role.LEAD)
        values = {"least_adults": 3, "children_per_lane": 7}
        change_rules(values=values, why="More eyes.", lead=other, expected=1, now=makers.moment())
        return lead_client.post(address(), sent)

    def test_nothing_is_stored_and_theirs_is_told(self, conflict: HttpResponse) -> None:
        assert conflict.status_code == 409
        page = text(conflict)
        assert "Somebody saved version 2 while you were writing" in page
        assert "Never fewer adults than: 2 adults → 3 adults" in page
        assert RuleBook.in_force().version == 2

    def test_my_fields_stand_over_theirs(self, conflict: HttpResponse) -> None:
        page = conflict.content.decode()
        assert re.search(r'name="children_per_lane" value="6"', page)
        assert re.search(r'name="least_adults" value="3"', page)
        assert "Small hall." in page

    def test_saving_again_keeps_both(self, conflict: HttpResponse, lead_client: Client) -> None:
        send(lead_client, children_per_lane="6")

        rules = RuleBook.in_force()
        assert (rules.version, rules.children_per_lane, rules.least_adults) == (3, 6, 3)


class TestVersions:
    """Going back changes more than the floor, so it leads over the page that shows who changes."""

    def test_the_lead_is_led_to_where_all_rules_go_back(self, lead_client: Client) -> None:
        send(lead_client, children_per_lane="6")

        page = lead_client.get(address()).content.decode()
        assert page.count("Go back to version") == 1
        assert reverse("rules_back", args=[1]) in page

    def test_a_coach_sees_the_versions_and_no_way_back(
        self, lead_client: Client, coach_client: Client
    ) -> None:
        send(lead_client, children_per_lane="6")

        page = text(coach_client.get(address()))
        assert "The hall is small." in page
        assert "Go back" not in page

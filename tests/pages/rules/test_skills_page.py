"""What skills ask for: standards and what tiers ask for, with who would change."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from progress.models import Role, Skill, SkillChange, SkillRule
from progress.usecases.change_skills import change_skills
from tests import makers
from tests.pages.rules.forms_on_a_page import body, filled, text

pytestmark = pytest.mark.usefixtures("monday_class")


def field(what: str, code: str) -> str:
    return f"{what}-{Skill.objects.get(code=code).pk}"


def form(client: Client) -> dict[str, Any]:
    return filled(body(client.get(reverse("rules_skills"))), "rules_skills_preview")


def previewed(client: Client, changes: dict[str, Any]) -> HttpResponse:
    sent = form(client) | changes
    return client.post(
        reverse("rules_skills_preview"),
        {name: value for name, value in sent.items() if value is not None},
    )


def saved(client: Client, preview: HttpResponse, why: str = "Seen for a year.") -> HttpResponse:
    sent = filled(body(preview), "rules_skills_save") | {"why": why}
    return client.post(reverse("rules_skills_save"), sent)


def test_every_skill_is_there_by_ladder_and_a_safety_skill_is_always_asked_for(
    lead_client: Client,
) -> None:
    response = lead_client.get(reverse("rules_skills"))

    page = text(response)
    assert "All 5 skills have the default standard of 80%." in page
    assert "Landing 2 skills, 2 asked for" in page
    assert "Hanging 3 skills, 2 asked for" in page
    sent = form(lead_client)
    assert sent[field("standard", "HANG-3")] == ["80"]
    assert field("required", "HANG-3") not in sent
    assert sent[field("required", "HANG-2")] == ["on"]
    assert f'name="{field("required", "LAND-1")}"' not in body(response)
    assert "Nobody has changed what a skill asks for." in page


def test_who_would_change_comes_first_and_nothing_is_stored(lead_client: Client) -> None:
    page = text(previewed(lead_client, {field("standard", "HANG-1"): "99"}))

    assert "Hang for ten seconds: standard 80% → 99%" in page
    assert "1 child with another suggestion" in page
    assert "Ada Monday class 1 Ready" in page
    assert "asks less of safety skills" not in page
    assert Skill.objects.get(code="HANG-1").standard == 0.8


def test_a_lower_standard_of_a_safety_skill_is_cautioned(lead_client: Client) -> None:
    page = text(previewed(lead_client, {field("standard", "LAND-2"): "60"}))

    assert "This asks less of safety skills Land from knee height: standard 60%" in page
    assert "Nobody would newly count as holding one today." in page


def test_what_was_previewed_is_saved_and_kept_with_who_and_why(lead_client: Client) -> None:
    preview = previewed(
        lead_client,
        {field("standard", "HANG-1"): "82.5", field("required", "HANG-2"): None},
    )
    response = saved(lead_client, preview)

    assert response.status_code == 302
    assert Skill.objects.get(code="HANG-1").standard == 0.825
    assert Skill.objects.get(code="HANG-2").required is False
    assert Skill.objects.get(code="HANG-3").required is False
    assert SkillChange.objects.count() == 2
    page = text(lead_client.get(reverse("rules_skills")))
    assert "2 skills ask for something else from now on." in page
    assert "these have a standard of their own: Hang for ten seconds." in page
    assert "Hang for ten seconds: standard 80% → 82.5% Seen for a year." in page
    assert "Travel hand to hand: asked for by its tier: yes → no" in page


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({("standard", "HANG-1"): "4"}, "from 5% to 99%"),
        ({("standard", "HANG-1"): "100"}, "from 5% to 99%"),
        ({("standard", "HANG-1"): ""}, "or take the default"),
        ({("standard", "HANG-1"): "most"}, "Write a number, such as 80."),
        ({}, "Nothing is different"),
    ],
)
def test_what_cannot_be_comes_back_as_typed_with_its_problem(
    lead_client: Client, changes: dict[tuple[str, str], str], says: str
) -> None:
    named = {field(*name): value for name, value in changes.items()}

    response = previewed(lead_client, named)

    assert response.status_code == 422
    assert says in text(response)
    typed = filled(body(response), "rules_skills_preview")
    for name, value in named.items():
        assert typed[name] == [value]
    if changes:
        ladder = body(response).split('<details class="fold" open>')[1].split("</details>")[0]
        assert says in ladder  # and the folded ladder is open


def test_a_tier_that_would_ask_for_nothing_is_refused_at_its_field(lead_client: Client) -> None:
    Skill.objects.filter(code="LAND-2").update(required=False)

    response = previewed(lead_client, {field("required", "HANG-2"): None})

    assert response.status_code == 422
    assert "Tier 2 would ask for no skill at all" in text(response)


def test_a_safety_skill_sent_as_not_asked_for_is_asked_for_all_the_same(
    lead_client: Client,
) -> None:
    saved(lead_client, previewed(lead_client, {field("standard", "LAND-1"): "85"}))

    assert Skill.objects.get(code="LAND-1").required is True


def test_a_skill_that_came_in_meanwhile_is_left_alone(lead_client: Client) -> None:
    preview = previewed(lead_client, {field("standard", "HANG-1"): "90"})
    makers.make_skill("NEW-1", ladder="hanging")

    saved(lead_client, preview)

    assert Skill.objects.get(code="NEW-1").required is True
    assert Skill.objects.get(code="HANG-1").standard == 0.9


def test_without_a_reason_the_preview_comes_back(lead_client: Client) -> None:
    response = saved(lead_client, previewed(lead_client, {field("standard", "HANG-1"): "90"}), " ")

    assert response.status_code == 422
    assert "Say in a sentence why" in text(response)
    assert filled(body(response), "rules_skills_save")[field("standard", "HANG-1")] == ["90"]


def test_the_figures_may_be_changed_again(lead_client: Client) -> None:
    preview = previewed(
        lead_client, {field("standard", "HANG-1"): "90", field("required", "HANG-2"): None}
    )

    again = lead_client.post(reverse("rules_skills"), filled(body(preview), "rules_skills_save"))

    sent = filled(body(again), "rules_skills_preview")
    assert sent[field("standard", "HANG-1")] == ["90"]
    assert field("required", "HANG-2") not in sent


def test_what_another_lead_changed_meanwhile_is_told_and_mine_stays(lead_client: Client) -> None:
    preview = previewed(lead_client, {field("standard", "HANG-1"): "90"})
    change_skills(
        changes={"HANG-1": {SkillRule.STANDARD: 0.7}, "HANG-2": {SkillRule.STANDARD: 0.6}},
        why="Too hard.",
        lead=makers.make_staff("lou", role=Role.LEAD),
        now=makers.moment(),
    )

    response = saved(lead_client, preview, "Mine.")

    assert response.status_code == 409
    assert "Hang for ten seconds: Standard is 70% by now." in text(response)
    sent = filled(body(response), "rules_skills_preview")
    assert sent[field("standard", "HANG-1")] == ["90"]
    assert sent[field("standard", "HANG-2")] == ["60"]
    assert sent["why"] == ["Mine."]
    saved(lead_client, lead_client.post(reverse("rules_skills_preview"), sent), "Mine.")
    standards = dict(Skill.objects.values_list("code", "standard"))
    assert (standards["HANG-1"], standards["HANG-2"]) == (0.9, 0.6)


def test_the_pages_ask_a_fixed_number_of_questions(
    lead_client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    previewed(lead_client, {field("standard", "HANG-1"): "90"})
    for more in (0, 3):
        for number in range(more):
            makers.make_skill(f"MORE-{number}", ladder=f"more-{number}")
            makers.make_athlete(f"more-{number}")
        sent = form(lead_client) | {field("standard", "HANG-1"): "90"}
        with django_assert_num_queries(4):
            lead_client.get(reverse("rules_skills"))
        with django_assert_num_queries(13):
            lead_client.post(reverse("rules_skills_preview"), sent)

"""Moving skills: what would change is shown, then saved with a sentence, or not at all."""

import re
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Athlete, Skill, SkillChange, SkillRule, StaffMember
from progress.usecases.change_skills import SkillValues, change_skills
from tests import makers

HANG_UP = {"skill": "HANG-1", "tier": "2"}
NOW = makers.moment()


def look(client: Client, *pairs: tuple[str, str], status: int = 200, **more: str) -> str:
    told = {"skill": [one for one, _ in pairs], "tier": [two for _, two in pairs], "look": "1"}
    response = client.get(reverse("retier"), {**told, **more})
    assert response.status_code == status
    return response.content.decode()


def seen_on(page: str) -> str:
    found = re.findall(r'name="seen" value="(\w+)"', page)
    return str(found[0])


def send(client: Client, **values: str) -> Any:
    return client.post(reverse("retier"), {**HANG_UP, "why": "Too hard.", **values})


def tier_of(code: str) -> int:
    return Skill.objects.get(code=code).tier_id


class TestLooking:
    def test_without_skills_it_says_so(self, lead_client: Client) -> None:
        assert "There are no skills yet" in look(lead_client)

    @pytest.mark.usefixtures("small_catalogue")
    def test_every_skill_and_tier_is_offered_and_nothing_to_save(self, lead_client: Client) -> None:
        page = lead_client.get(reverse("retier")).content.decode()
        for code in ("LAND-1", "HANG-3"):
            assert page.count(f'<option value="{code}"') == 3
        assert "2: Tier 2" in page
        assert "Why?" not in page

    @pytest.mark.usefixtures("ada", "bo")
    def test_children_are_shown_with_shape_and_word_before_and_after(
        self, lead_client: Client
    ) -> None:
        page = look(lead_client, ("HANG-1", "2"))
        assert "Hang for ten seconds: from tier 1 to tier 2" in page
        row = page.partition(">Bo</a>")[2].partition("</tr>")[0]
        assert len(re.findall(r"#decision-[a-z-]+\"", row)) == 2
        assert re.search(r"For <strong>\d of 2</strong> children", page)
        assert "Worked out on 2 children and 32 tries, as of the end of Sunday 1 March" in page
        assert tier_of("HANG-1") == 1

    @pytest.mark.usefixtures("ada")
    def test_several_skills_at_once(self, lead_client: Client) -> None:
        page = look(lead_client, ("HANG-2", "1"), ("", ""), ("HANG-3", "1"))
        assert "Travel hand to hand: from tier 2 to tier 1" in page
        assert "Turn around: from tier 2 to tier 1" in page

    @pytest.mark.usefixtures("ada")
    def test_what_it_breaks_is_said(self, lead_client: Client) -> None:
        makers.make_tier(3)
        page = look(lead_client, ("LAND-1", "3"))
        assert "“Hang for ten seconds” (tier 1)" not in page  # it needs nothing
        assert "“Land from knee height” (tier 2) needs “Land still on two feet”" in page
        assert "“Land still on two feet” is a safety skill. Children would leave tier 1" in page

    @pytest.mark.usefixtures("ada")
    def test_a_safety_skill_asked_for_earlier_is_told_too(self, lead_client: Client) -> None:
        assert "Children could not leave tier 1 before they hold it" in look(
            lead_client, ("LAND-2", "1")
        )

    @pytest.mark.usefixtures("ada")
    def test_a_tier_that_would_ask_for_nothing_leaves_nothing_to_save(
        self, lead_client: Client
    ) -> None:
        page = look(lead_client, ("LAND-1", "2"), ("HANG-1", "2"))
        assert "Tier 1 would ask for no skill at all" in page
        assert "Why?" not in page

    @pytest.mark.usefixtures("ada")
    @pytest.mark.parametrize(
        ("pairs", "says"),
        [
            ([("NONE", "2")], "There is no skill NONE."),
            ([("HANG-1", "9")], "There is no tier 9."),
            ([("HANG-1", "two")], "Choose a tier from the list."),
            ([("HANG-1", "1")], "nothing would change"),
            ([("HANG-1", "2"), ("HANG-1", "1")], "stands there twice"),
            ([("", "2")], "Choose the skill that should go there"),
            ([("HANG-1", "")], "Choose a skill and a tier first."),
            ([], "Choose a skill and a tier first."),
        ],
    )
    def test_what_makes_no_sense_is_told_and_kept_in_the_form(
        self, pairs: list[tuple[str, str]], says: str, lead_client: Client
    ) -> None:
        page = look(lead_client, *pairs)
        assert says in page
        assert "Why?" not in page
        if pairs == [("HANG-1", "")]:
            assert '<option value="HANG-1" selected>' in page

    @pytest.mark.usefixtures("ada", "bo")
    def test_sorting_the_children_keeps_what_was_asked(self, lead_client: Client) -> None:
        page = look(lead_client, ("HANG-1", "2"))
        link = re.findall(r'class="sort" href="([^"]+)">Suggested then<', page)[0]
        sorted_page = lead_client.get(reverse("retier") + link.replace("&amp;", "&"))
        assert "Hang for ten seconds: from tier 1 to tier 2" in sorted_page.content.decode()

    def test_queries_do_not_grow_with_the_gym(
        self, ada: Athlete, bo: Athlete, lead: StaffMember, lead_client: Client
    ) -> None:
        change_skills(changes={"HANG-3": {SkillRule.STANDARD: 0.7}}, why="One.", lead=lead, now=NOW)
        look(lead_client, ("HANG-1", "2"))
        with CaptureQueriesContext(connection) as few:
            look(lead_client, ("HANG-1", "2"))
        for number in range(30):
            makers.make_skill(ladder=f"ladder-{number % 6}", tier=1 + number % 4)
            makers.make_athlete()
            standard = 0.71 + number / 200
            changes = {"HANG-3": {SkillRule.STANDARD: standard}}
            change_skills(changes=changes, why="More.", lead=lead, now=NOW)
        look(lead_client, ("HANG-1", "2"))
        with CaptureQueriesContext(connection) as many:
            look(lead_client, ("HANG-1", "2"))
        assert len(many) == len(few) <= 24


@pytest.mark.usefixtures("ada", "bo")
class TestSaving:
    def test_what_was_looked_at_is_saved_with_the_sentence(
        self, lead_client: Client, lead: StaffMember
    ) -> None:
        response = send(lead_client, seen=seen_on(look(lead_client, ("HANG-1", "2"))))
        assert (response.status_code, response["Location"]) == (302, reverse("retier"))
        assert tier_of("HANG-1") == 2
        change = SkillChange.objects.get()
        assert (change.why, change.changed_by, change.before) == ("Too hard.", lead, "1")
        page = lead_client.get(reverse("retier")).content.decode()
        assert "Saved: Hang for ten seconds." in page
        assert "Too hard." in page.partition('id="history"')[2]

    def test_without_a_sentence_nothing_is_saved(self, lead_client: Client) -> None:
        seen = seen_on(look(lead_client, ("HANG-1", "2")))
        response = send(lead_client, seen=seen, why="  ")
        assert response.status_code == 422
        assert "Say in a sentence why" in response.content.decode()
        assert tier_of("HANG-1") == 1

    def test_a_skill_moved_by_somebody_else_meanwhile_stops_it_and_shows_it_anew(
        self, lead_client: Client, lead: StaffMember
    ) -> None:
        seen = seen_on(look(lead_client, ("HANG-1", "2")))
        change_skills(changes={"HANG-3": {SkillRule.TIER: 1}}, why="Mine.", lead=lead, now=NOW)

        response = send(lead_client, seen=seen)

        page = response.content.decode()
        assert response.status_code == 409
        assert "nothing of yours is stored" in page
        assert ">Too hard.</textarea>" in page.replace("\n", "")
        assert tier_of("HANG-1") == 1
        again = send(lead_client, seen=seen_on(page))
        assert again.status_code == 302
        assert tier_of("HANG-1") == 2

    def test_a_form_nobody_was_shown_is_refused(self, lead_client: Client) -> None:
        assert send(lead_client, seen="made-up").status_code == 409
        assert send(lead_client).status_code == 422
        assert send(lead_client, skill="", tier="", seen="x").status_code == 422
        assert not SkillChange.objects.exists()

    def test_a_coach_saves_nothing(self, coach_client: Client) -> None:
        assert send(coach_client, seen="x").status_code == 404


@pytest.mark.usefixtures("ada", "bo")
class TestHistory:
    @pytest.fixture
    def changes(self, lead: StaffMember) -> list[SkillChange]:
        told: list[tuple[SkillValues, str]] = [
            ({"HANG-1": {SkillRule.TIER: 2}}, "Moved up."),
            ({"HANG-2": {SkillRule.STANDARD: 0.85}}, "Surer."),
            ({"HANG-3": {SkillRule.REQUIRED: True}}, "Asked for."),
        ]
        return [
            change_skills(changes=one, why=why, lead=lead, now=makers.moment(hour=number))[0]
            for number, (one, why) in enumerate(told)
        ]

    def test_the_newest_comes_first_with_the_value_before(
        self, changes: list[SkillChange], lead_client: Client
    ) -> None:
        listed = lead_client.get(reverse("retier")).content.decode().partition('id="history"')[2]
        assert re.findall(r"(Moved up|Surer|Asked for)\.", listed) == [
            "Asked for",
            "Surer",
            "Moved up",
        ]
        for words in ("Tier 1", "Standard 80%", "Standard 85%", "Not asked for by its tier"):
            assert words in listed
        assert "Lee" in listed

    def test_putting_back_shows_first_what_it_would_change_and_is_a_new_change(
        self, changes: list[SkillChange], lead_client: Client, today: date
    ) -> None:
        number = str(changes[1].pk)
        page = lead_client.get(reverse("retier"), {"back": number}).content.decode()
        assert "Travel hand to hand: from standard 85% to standard 80%" in page

        response = lead_client.post(
            reverse("retier"), {"back": number, "seen": seen_on(page), "why": "No better."}
        )

        assert response.status_code == 302
        assert Skill.objects.get(code="HANG-2").standard == pytest.approx(0.8)
        assert SkillChange.objects.count() == 4
        listed = lead_client.get(reverse("retier")).content.decode()
        assert "It is back already" in listed

    @pytest.mark.parametrize("number", ["0", "999999", "x", "", "99999999999999999999"])
    def test_a_change_that_never_was_cannot_be_put_back(
        self, number: str, lead_client: Client
    ) -> None:
        page = lead_client.get(reverse("retier"), {"back": number}).content.decode()
        assert "There is no such change to put back." in page

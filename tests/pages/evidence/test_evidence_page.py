"""The evidence page of one athlete."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from progress.engine.rules import Rules
from progress.engine.what_would_change import FurtherClean
from progress.models import Athlete, GymClass, RuleBook, Skill, StaffMember
from progress.pages.evidence.blocks import LATEST
from progress.pages.evidence.words import further_in_words, rules_in_words, span
from tests import makers

# The page's own: session, account, staff, second factor; the athlete; then what the engine takes.
MOST_QUERIES = 14


def page_of(client: Client, athlete: Athlete) -> str:
    response = client.get(reverse("evidence", args=[athlete.code]))
    assert response.status_code == 200
    return response.content.decode()


def section(page: str, heading: str) -> str:
    return page.partition(f'id="{heading}"')[2].partition("</section>")[0]


def block(page: str, skill: Skill) -> str:
    return page.partition(f'id="skill-{skill.pk}"')[2].partition("</article>")[0]


def plain(markup: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split())


def test_the_answer_stands_with_its_reasons_and_the_way_to_decide(
    lead_client: Client, ada: Athlete
) -> None:
    answer = section(page_of(lead_client, ada), "answer-h")
    assert "decision-ready" in answer
    assert "2 of 2 skills of tier 1 secure" in answer
    assert re.search(r"[Ll]ikely, \d\d%", plain(answer))
    assert f'href="{reverse("sign_off")}?athlete=ada"' in answer
    assert reverse("athlete_page", args=["ada"]) in page_of(lead_client, ada)


def test_the_rule_shown_is_the_one_in_force(
    lead_client: Client, ada: Athlete, lead: StaffMember
) -> None:
    before = plain(section(page_of(lead_client, ada), "rules-h"))
    assert "The last 5 tries clean, on 2 days, by 2 coaches, none older than 8 weeks" in before
    RuleBook.objects.create(
        version=3, values={"gate_clean_in_a_row": 7, "fresh_days": 60}, changed_by=lead
    )
    after = plain(section(page_of(lead_client, ada), "rules-h"))
    assert "The last 7 tries clean, on 2 days, by 2 coaches, none older than 60 days" in after
    assert "Rules version 3" in after


class TestSkills:
    def test_parts_of_the_rule_say_met_or_missing_with_a_shape(
        self, lead_client: Client, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        page = page_of(lead_client, bo)
        hang = block(page, small_catalogue["HANG-1"])
        assert "Missing 2 clean tries: there are 0" in plain(hang)
        assert "last never" in plain(hang)
        land = block(page, small_catalogue["LAND-1"])
        assert "Met 5 clean in a row: there are 7" in plain(land)
        assert "Safety skill" in land
        assert len(re.findall(r'part-mark"><svg', hang + land)) == 8
        assert page.index(f'id="skill-{small_catalogue["HANG-1"].pk}"') < page.index(
            f'id="skill-{small_catalogue["LAND-1"].pk}"'
        )

    def test_attempts_say_day_result_coach_and_what_they_are_for(
        self, lead_client: Client, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        land = block(page_of(lead_client, bo), small_catalogue["LAND-1"])
        rows = land.split("<tr")[2:]
        assert len(rows) == 8
        assert re.search("Mon 23 Feb 2026, .* Clean Kim .* In the run", plain(rows[0]))
        assert "Not yet" in plain(rows[-1])
        assert "In the run" not in plain(rows[-1])

    def test_older_attempts_are_folded_and_none_is_left_out(
        self, lead_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        days = [makers.TODAY - timedelta(weeks=week) for week in (3, 2, 1)]
        makers.make_attempts(cy, small_catalogue["HANG-1"], ["clean"] * (LATEST + 5), days=days)
        shown, _, folded = block(page_of(lead_client, cy), small_catalogue["HANG-1"]).partition(
            "<details"
        )
        assert (shown.count("<time"), folded.count("<time")) == (LATEST, 5)

    def test_a_corrected_attempt_says_what_it_was(
        self, lead_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        wrong = makers.make_attempt(cy, small_catalogue["LAND-1"], "clean")
        makers.make_correction(wrong, "miss", reason="Hands down.")
        land = plain(block(page_of(lead_client, cy), small_catalogue["LAND-1"]))
        assert "Not yet Corrected: was Clean. Hands down." in land


class TestWhatWouldChange:
    def test_a_ready_athletes_page_says_what_could_take_it_back(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        change = plain(section(page_of(lead_client, ada), "change-h"))
        assert "What could take it back" in change
        assert "Land still on two feet safety skill" in change
        assert re.search(r"stops being Ready on \w+ \d+ \w+ 2026, in \d+ days", change)

    def test_a_child_never_checked_is_told_the_whole_way(
        self, lead_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        page = page_of(lead_client, cy)
        change = plain(section(page, "change-h"))
        assert re.search(r"Land still on two feet : \d clean in a row on 2 days", change)
        assert "checked once a week" in change
        assert page.count("That says nothing about what Cy can do") == 2

    def test_on_hold_nothing_is_asked_for(self, lead_client: Client, bo: Athlete) -> None:
        makers.make_hold(bo, reason="Asked to rest.")
        page = page_of(lead_client, bo)
        assert "Asked to rest." in page
        change = plain(section(page, "change-h"))
        assert "Only the lead lifts it" in change
        assert "clean" not in change

    def test_who_is_too_young_learns_when(
        self, lead_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        cy.birth_date = date(2021, 7, 1)
        cy.save()
        change = plain(section(page_of(lead_client, cy), "change-h"))
        assert "asks for an age of 5 years. Cy reaches it on Wednesday 1 July 2026." in change

    @pytest.mark.usefixtures("small_catalogue")
    def test_in_the_highest_tier_there_is_nothing_to_sign_off(self, lead_client: Client) -> None:
        page = page_of(lead_client, makers.make_athlete("top", tier=2))
        assert "In the highest tier" in page
        assert "change-h" not in page
        assert "?athlete=top" not in page

    def test_what_is_far_off_is_not_called_a_few_checks(
        self, lead_client: Client, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        days = [makers.TODAY - timedelta(days=ago) for ago in (6, 4, 2)]
        makers.make_attempts(bo, small_catalogue["HANG-1"], ["miss"] * 30, days=days)
        change = plain(section(page_of(lead_client, bo), "change-h"))
        assert "not a matter of a few checks" in change


class TestWords:
    @pytest.mark.parametrize(
        ("asked", "gate", "said"),
        [
            ((2, 1, 0, True), False, "2 more clean on another day"),
            ((1, 1, 1, True), True, "1 more clean on another day, seen by another coach"),
            (
                (3, 2, 1, True),
                True,
                "3 more clean in a row on 2 other days, at least one seen by another coach",
            ),
            ((5, 2, 2, False), True, "5 clean in a row on 2 days, seen by 2 coaches"),
            ((1, 1, 0, False), False, "1 clean"),
        ],
    )
    def test_further_tries(self, asked: tuple[int, int, int, bool], gate: bool, said: str) -> None:
        clean, days, coaches, begun = asked
        one = FurtherClean("S", clean, days, coaches, begun, first=False)
        assert further_in_words(one, gate=gate) == said

    def test_the_rule_where_one_coach_records_asks_for_no_second(self) -> None:
        assert "coach" not in rules_in_words(Rules(), 1)[0][1]
        assert "by 2 coaches" in rules_in_words(Rules(), 2)[0][1]

    def test_days_are_said_as_weeks_where_they_are_weeks(self) -> None:
        assert [span(days) for days in (7, 56, 60)] == ["1 week", "8 weeks", "60 days"]


def test_it_takes_the_same_few_queries_however_long_the_log(
    lead_client: Client,
    monday_class: GymClass,
    ada: Athlete,
    small_catalogue: dict[str, Skill],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    page_of(lead_client, ada)  # the first visit calibrates
    with django_assert_max_num_queries(MOST_QUERIES) as before:
        page_of(lead_client, ada)
    days = [makers.TODAY - timedelta(days=ago) for ago in range(1, 40)]
    makers.make_attempts(ada, small_catalogue["LAND-1"], ["clean"] * 40, days=days)
    with django_assert_max_num_queries(MOST_QUERIES) as after:
        page_of(lead_client, ada)
    assert len(before) == len(after)


def test_no_page_calls_anybody_safe(lead_client: Client, ada: Athlete, bo: Athlete) -> None:
    for athlete in (ada, bo):
        assert not re.search(r"\bsafe\b", plain(page_of(lead_client, athlete)))

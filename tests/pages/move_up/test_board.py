"""The board: what the lead sees of each athlete, and what it rests on."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, GymClass, Standing
from progress.usecases import see_board
from progress.usecases.standings.keep_up import Freshness
from tests import makers
from tests.makers_of_standings import make_standing
from tests.pages.move_up.reading import boxes, link_to, links, names, page_of, row_of

DAY, TODAY = timedelta(days=1), makers.TODAY
ORDER = ["Ready", "Nearly", "Needs checks", "Building"]


def some_of_each() -> None:
    """One with each decision, one in the top tier, one of whom nothing is worked out."""
    for place, decision in enumerate(("building", "needs_checks", "nearly", "ready")):
        athlete = makers.make_athlete(f"a-{place}", name=decision.replace("_", " ").capitalize())
        make_standing(athlete, decision)
    make_standing(makers.make_athlete("top", name="Top", tier=2), "ready")
    makers.make_athlete("waiting", name="Waiting")


@pytest.mark.usefixtures("ada", "bo", "cy", "monday_class")
def test_everybody_is_on_it_worked_out_just_now_those_to_act_on_first(lead_client: Client) -> None:
    page = page_of(lead_client)

    assert names(page) == ["Ada", "Cy", "Bo"]
    assert "Worked out today from attempts up to now." in page
    assert Standing.objects.filter(on_day=TODAY).count() == 3
    bo = re.sub(r"<[^>]+>", " ", row_of(page, "Bo"))
    for said in ("Building", "Held back by", "Hang for ten seconds", "Monday class", "7 days ago"):
        assert said in bo
    assert "held back by" not in bo
    assert "Not checked yet" in row_of(page, "Cy")


@pytest.mark.usefixtures("as_stored")
class TestRows:
    def test_the_decision_is_a_shape_a_word_and_a_chance(
        self, lead_client: Client, cy: Athlete
    ) -> None:
        make_standing(cy, "ready", p_ready=0.72)

        row = row_of(page_of(lead_client), "Cy")
        assert "#decision-ready" in row
        assert re.search(r"likely,</span> <span class=\"number\">72%", row)

    def test_a_hold_is_said_and_not_said_twice(self, lead_client: Client, cy: Athlete) -> None:
        makers.make_hold(cy, kind="wish")
        make_standing(cy, "nearly", reasons=["on hold: ask the lead", "2 of 2 skills secure"])

        row = row_of(page_of(lead_client), "Cy")
        assert "On hold" in row
        assert "Family" in row
        assert "ask the lead" not in row
        assert "2 of 2 skills secure." in row

    def test_an_answer_of_another_day_says_which(self, lead_client: Client, cy: Athlete) -> None:
        make_standing(cy, on_day=date(2026, 2, 26))

        assert "As of Thu 26 Feb" in row_of(page_of(lead_client), "Cy")

    def test_where_nothing_is_worked_out_nothing_is_claimed(
        self, lead_client: Client, cy: Athlete
    ) -> None:
        row = row_of(page_of(lead_client), "Cy")

        assert "Not worked out yet" in row
        assert "Not checked yet" not in row

    def test_the_name_leads_to_what_the_answer_rests_on(
        self, lead_client: Client, cy: Athlete
    ) -> None:
        make_standing(cy)

        href = link_to(page_of(lead_client), "Cy")
        assert lead_client.get(href).status_code == 200

    def test_nobody_in_the_top_tier_can_be_chosen(self, lead_client: Client) -> None:
        some_of_each()
        page = page_of(lead_client)

        assert set(boxes(page)) == {"a-0", "a-1", "a-2", "a-3", "waiting"}
        assert "In the highest tier" in row_of(page, "Top")

    def test_those_chosen_go_to_the_page_for_signing_off(self, lead_client: Client) -> None:
        some_of_each()
        page = page_of(lead_client)

        form = page.partition(f'<form method="get" action="{reverse("sign_off")}"')[2]
        assert boxes(form.partition("</form>")[0]) == boxes(page)
        chosen = {"athlete": ["a-3", "a-2"]}
        assert lead_client.get(reverse("sign_off"), chosen).status_code == 200

    def test_names_are_text_and_never_run(self, lead_client: Client) -> None:
        make_standing(makers.make_athlete("x", name="<script>alert(1)</script>"))

        assert "<script>alert" not in page_of(lead_client)


@pytest.mark.usefixtures("as_stored")
class TestLinksByDecision:
    def test_they_say_how_many_and_lead_to_them(self, lead_client: Client) -> None:
        some_of_each()
        found = links(page_of(lead_client))

        assert list(found) == ["Everybody", *ORDER, "Not worked out yet", "Highest tier"]
        assert found["Everybody"][1] == 6
        for word in ORDER:
            assert found[word][1] == 1
            assert names(page_of(lead_client, found[word][0])) == [word]
        assert names(page_of(lead_client, found["Highest tier"][0])) == ["Top"]

    def test_they_keep_the_other_filters_and_count_within_them(self, lead_client: Client) -> None:
        some_of_each()
        found = links(page_of(lead_client, "?words=ready&decision=nearly&sort=name&page=1"))

        assert [number for _, number in found.values()] == [1, 1, 0, 0, 0]
        href = found["Ready"][0]
        assert "words=ready" in href
        assert "sort=name" in href
        assert names(page_of(lead_client, href)) == ["Ready"]

    def test_an_unknown_decision_means_everybody(self, lead_client: Client) -> None:
        some_of_each()

        assert len(names(page_of(lead_client, "?decision=splendid"))) == 6


class TestWhatItRestsOn:
    @pytest.fixture
    def too_many(self, ada: Athlete, bo: Athlete, monkeypatch: pytest.MonkeyPatch) -> None:
        make_standing(ada, on_day=TODAY - 4 * DAY)
        monkeypatch.setattr(see_board, "WORKED_OUT_AT_ONCE", 1)

    @pytest.mark.usefixtures("too_many")
    def test_where_many_wait_it_says_so_and_works_them_out_when_asked(
        self, lead_client: Client
    ) -> None:
        page = page_of(lead_client, "?sort=-name&words=a")
        assert "as old as Thu 26 Feb 2026" in page
        assert "2 athletes wait to be worked out" in page
        assert "may take a minute" in page

        asked = re.findall(r'name="asked" value="([^"]*)"', page)[0].replace("&amp;", "&")
        answer = lead_client.post(reverse("board_refresh"), {"asked": asked}, follow=True)

        assert answer.redirect_chain == [(reverse("move_up_list") + "?sort=-name&words=a", 302)]
        after = answer.content.decode()
        assert "2 answers worked out" in after
        assert "Worked out today from attempts up to now." in after
        assert not Standing.objects.exclude(on_day=TODAY).exists()

    @pytest.mark.usefixtures("cy", "small_catalogue")
    def test_one_of_whom_nothing_was_ever_worked_out(
        self, lead_client: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(see_board, "bring_up_to_date", lambda **_: Freshness(1, None))
        page = page_of(lead_client)

        assert "No answers have been worked out yet" in page
        assert "1 athlete waits, to be" not in page
        assert "1 athlete waits to be" in page

    def test_the_way_back_leads_to_the_board_alone(self, lead_client: Client) -> None:
        answer = lead_client.post(reverse("board_refresh"), {"asked": "//elsewhere.test/?a=b"})

        assert answer["Location"].startswith(reverse("move_up_list") + "?")

    def test_only_a_lead_has_them_worked_out(
        self, coach_client: Client, monday_class: GymClass
    ) -> None:
        assert coach_client.post(reverse("board_refresh")).status_code == 404
        assert not Standing.objects.exists()


class TestEmptyAndFull:
    def test_a_gym_without_athletes_is_told_where_they_come_from(self, lead_client: Client) -> None:
        page = page_of(lead_client)

        assert "no athletes yet" in page
        assert "_export" not in page

    def test_where_nobody_matches_the_filters_can_be_cleared(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        page = page_of(lead_client, "?words=nobody&decision=ready")

        assert "Nobody matches" in page
        assert "no athletes yet" not in page
        assert link_to(page, "Clear all filters") == reverse("move_up_list")

    def test_nobody_ready_is_no_match_and_not_an_empty_gym(
        self, lead_client: Client, bo: Athlete
    ) -> None:
        assert "Nobody matches" in page_of(lead_client, "?decision=ready")

    def test_one_athlete(self, lead_client: Client, ada: Athlete) -> None:
        page = page_of(lead_client)

        assert "1 athlete." in page
        assert "Pages of the table" not in page

    def test_it_is_never_kept_by_a_browser(self, lead_client: Client) -> None:
        assert "no-store" in lead_client.get(reverse("move_up_list"))["Cache-Control"]

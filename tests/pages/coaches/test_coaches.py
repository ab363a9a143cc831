"""The lead's page of how coaches mark: in words that help, and for the lead alone."""

import re
from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from progress.engine.agreement import kappa, linear_weights
from progress.models import Skill, StaffMember
from progress.pages.coaches.tables import place_of
from progress.pages.coaches.words import figures, read_agreement, too_few, verdict
from progress.usecases.compare_double_checks import Agreement
from progress.usecases.see_coaches import CoachSeen
from tests import makers
from tests.usecases.marked_alike import mark_children

URL = "coaches"


def page_of(client: Client) -> str:
    response = client.get(reverse(URL))
    assert response.status_code == 200
    return re.sub(r"\s+", " ", response.content.decode())


class TestPage:
    @pytest.fixture
    def mark(
        self,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
        today: date,
    ) -> Callable[..., None]:
        """Let Kim and Lee mark these shares of tries clean, on different days or the same."""

        def marked(kim: float, lee: float, same_day: bool = False) -> None:
            shares = {coach: kim, lead: lee}
            mark_children(small_catalogue["HANG-1"], shares, today=today, same_day=same_day)

        return marked

    def test_each_coach_has_words_figures_and_a_picture(
        self, lead_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.35, 0.75)
        page = page_of(lead_client)

        kim = page.partition(">Kim</th>")[2].partition("</tr>")[0]
        assert re.search(
            r"(A little|Clearly) stricter</strong><br><span class=\"small\">"
            r"Where others give 80% clean, Kim gives \d\d% \(90% sure: \d\d to \d\d\)",
            kim,
        )
        assert '<circle class="marking-dot"' in kim
        assert "144" in kim

    def test_two_who_differ_are_asked_to_check_children_together(
        self, lead_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.35, 0.75)
        page = page_of(lead_client)

        assert re.search(r"<h3>(Kim and Lee|Lee and Kim)</h3>", page)
        assert "same 5 children at the same three stations" in page
        assert "Skills that would tell most: Hang for ten seconds." in page

    def test_without_double_checks_the_page_says_how_to_get_them(
        self, lead_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.5, 0.5)
        page = page_of(lead_client)

        assert "There is no double check yet." in page
        assert "How to get them" in page
        assert "under their own name" in page
        assert "How to read it" not in page

    def test_with_double_checks_it_says_how_far_coaches_agree_and_how_to_read_it(
        self, lead_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.4, 0.7, same_day=True)
        page = page_of(lead_client)

        assert re.search(r"\d+ of 144 times both wrote the same result: \d\d% \(90% sure", page)
        assert re.search(r"agreement is 0\.\d\d \(90% sure: 0?-?\d?\.\d\d to \d\.\d\d\)", page)
        assert "Coaches who judge exactly alike would come to about" in page
        assert "may truly differ from day to day" in page
        assert "How to get them" not in page

    def test_nothing_on_it_judges_anybody(
        self, lead_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.2, 0.9)
        page = page_of(lead_client).lower()
        for word in ("worst", "best coach", "too strict", "lenient", "wrong", "bias", "error"):
            assert word not in page

    def test_a_gym_without_tries_is_told_so(self, lead_client: Client) -> None:
        assert "Nobody who works here has marked a try" in page_of(lead_client)

    def test_a_coach_does_not_learn_that_there_is_such_a_page(
        self, coach_client: Client, mark: Callable[..., None]
    ) -> None:
        mark(0.35, 0.75)
        answer = coach_client.get(reverse(URL))
        assert answer.status_code == 404
        assert b"stricter" not in answer.content

    def test_a_second_look_takes_few_questions_to_the_database(
        self,
        lead_client: Client,
        mark: Callable[..., None],
        django_assert_max_num_queries: pytest.FixtureRequest,
    ) -> None:
        mark(0.5, 0.6)
        for _ in range(2):  # the first look also learns difficulties, which asks again
            page_of(lead_client)
        for _ in range(20):
            makers.make_staff()
        with django_assert_max_num_queries(12):  # type: ignore[operator]
            page_of(lead_client)


class TestWords:
    @pytest.mark.parametrize(
        ("gives", "low", "high", "said"),
        [
            (0.74, 0.66, 0.79, "A little stricter"),
            (0.86, 0.82, 0.89, "A little more generous"),
            (0.65, 0.58, 0.71, "Clearly stricter"),
            (0.92, 0.88, 0.95, "Clearly more generous"),
            (0.78, 0.74, 0.82, "Marks about as others do"),
            (0.79, 0.781, 0.799, "Marks about as others do"),
            (0.70, 0.55, 0.82, "Cannot tell yet"),
        ],
    )
    def test_a_verdict_goes_by_what_is_sure_and_by_what_anybody_could_notice(
        self, gives: float, low: float, high: float, said: str
    ) -> None:
        assert verdict(CoachSeen("kim", "Kim", 300, gives, low, high)) == said

    def test_the_figures_are_those_of_the_everyday_example(self) -> None:
        kim = CoachSeen("kim", "Kim", 300, 0.74, 0.66, 0.81)
        assert figures(kim) == ("Where others give 80% clean, Kim gives 74% (90% sure: 66 to 81).")

    def test_too_few_tries_and_nobody_to_compare_with_are_different_things(self) -> None:
        assert verdict(CoachSeen("kim", "Kim", 12)) == "Too few tries to say"
        assert "12 so far" in figures(CoachSeen("kim", "Kim", 12))
        assert "compare with" in verdict(CoachSeen("kim", "Kim", 300))

    def test_what_lies_beyond_the_picture_is_drawn_at_its_end(self) -> None:
        assert place_of(0.1) == place_of(0.60) < place_of(0.80) < place_of(0.95) == place_of(0.99)

    @pytest.mark.parametrize(
        ("alike", "said"),
        [(0.9, "worth talking"), (0.75, "fits that"), (0.1, "saw each other’s marks")],
    )
    def test_agreement_is_held_against_what_equals_would_reach(
        self, alike: float, said: str
    ) -> None:
        table = ((40, 5, 3), (5, 20, 7), (3, 7, 60))
        read = read_agreement(
            Agreement(150, kappa([list(row) for row in table], linear_weights()), alike, table)  # type: ignore[arg-type]
        )
        assert read is not None
        assert said in read.against

    @pytest.mark.parametrize(
        ("pairs", "said"), [(0, "no double check"), (1, "is 1 double"), (7, "are 7 double")]
    )
    def test_too_few_double_checks_are_counted(self, pairs: int, said: str) -> None:
        assert said in too_few(Agreement(pairs, None, None, ()))

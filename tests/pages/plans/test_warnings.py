"""What the plan warns of: places, adults, lines, and what to look at before the class."""

import re

import pytest
from django.test import Client

from progress.models import GymClass, Station, Variant
from tests import makers
from tests.pages.plans.reading import page_of, text_of


@pytest.mark.usefixtures("monday_class", "floor")
class TestWhereNoPlanIsFull:
    def test_too_few_adults_names_who_where_and_how_many_would_do(
        self, coach_client: Client, monday_class: GymClass
    ) -> None:
        Variant.objects.update(spotter=True)
        GymClass.objects.update(adults=3, spotters=1)

        text = text_of(page_of(coach_client))

        assert "Not everybody has a place" in text
        assert "1 adult at stations on this loop; with 2 everybody has a place." in text
        assert re.search(r"(Jump down|Bars) , on First: no place for (Ada|Bo|Ada and Bo)\.", text)

    def test_too_few_places_names_the_variant_and_how_many_would_do(
        self, coach_client: Client
    ) -> None:
        Variant.objects.filter(station__code="bars", step__lt=1).update(places=0)
        text = text_of(page_of(coach_client))

        short = text.partition("Not everybody has a place")[2].partition("Groups and variants")[0]
        assert "Bars , on First: no place for Bo." in short
        assert re.search(r"Bars, (easier|base): 0 places; with 1 places? everybody has one", short)
        assert "every variant that fits is full: ask the coach" in text

    def test_nothing_is_said_where_everybody_has_a_place(self, coach_client: Client) -> None:
        assert "Not everybody" not in page_of(coach_client)


@pytest.mark.usefixtures("monday_class", "floor")
class TestWaitingAndPrompts:
    def test_a_long_line_is_warned_of_with_what_would_change_it(
        self, coach_client: Client, monday_class: GymClass
    ) -> None:
        for _ in range(10):
            makers.enrol(makers.make_athlete(), monday_class)
        Variant.objects.filter(station__code="jump").update(seconds=40)

        text = text_of(page_of(coach_client)).partition("Waiting in line")[2]

        assert re.search(r"Above 60 s in line before Jump down: \d", text)
        assert re.search(
            r"One more lane at Jump down: longest wait [\dmins ]+ → [\dmins ]+, active \d+%", text
        )
        assert "Turns nobody has timed, taken as 20 s: Bars" in text
        assert "Expected, not measured" in text

    def test_too_few_adults_is_a_stop_with_source_and_status(
        self, coach_client: Client, monday_class: GymClass
    ) -> None:
        GymClass.objects.update(adults=1)
        text = text_of(page_of(coach_client))

        assert "at least 2 adults" in text
        stop = text.partition("Before the class: look at these")[2]
        assert re.match(r" Stop \d Ask the lead before this is used", stop)
        assert "Source: NSPCC Child Protection in Sport Unit (read)." in stop

    def test_a_playground_figure_says_that_it_is_only_an_analogy(
        self, coach_client: Client
    ) -> None:
        Station.objects.filter(code="jump").update(kind="climb", mat="none")
        Variant.objects.filter(code="jump-1").update(height_m=2.4)
        text = text_of(page_of(coach_client))
        assert "A playground figure: only an analogy for a supervised hall." in text

    def test_the_closing_words_always_stand_and_nothing_is_called_all_right(
        self, coach_client: Client
    ) -> None:
        for name in ("class_plan", "plan_print"):
            text = text_of(page_of(coach_client, name=name))
            assert "These are prompts only, and what is not listed may still be wrong." in text
            assert not re.search(r"\b(safe|all clear|no problems|all good|ok|✓)\b", text, re.I)

"""Each figure behind a prompt, at its exact boundary; sources stand in safety_figures.py."""

from dataclasses import replace

import pytest

from progress.engine.safety import prompts
from progress.engine.safety_facts import Kind, SafetyLimits, Status
from progress.engine.safety_spaces import clear_zone_needed
from tests.engine.safety_figures import (
    BEAM,
    FIGURES,
    OVERHEAD,
    SECOND_HAND,
    TENS,
    WARN,
    Figure,
    aged,
    rules,
    station,
)


@pytest.mark.parametrize("figure", FIGURES, ids=[f"{f.rule}-{n}" for n, f in enumerate(FIGURES)])
class TestFigures:
    def test_at_its_boundary_nothing_is_said_and_beyond_it_the_prompt_with_its_source(
        self, figure: Figure
    ) -> None:
        assert figure.rule not in rules(figure.within, figure.group)
        prompt = rules(figure.beyond, figure.group)[figure.rule]
        assert prompt.severity is figure.severity
        assert figure.source in prompt.source
        assert prompt.status is figure.status
        assert prompt.analogy is figure.analogy
        assert (prompt.station, prompt.loops) == ("s", ("red",))
        assert prompt.text.endswith(".")
        assert prompt.todo

    def test_the_two_numbers_stand_in_the_text(self, figure: Figure) -> None:
        prompt = rules(figure.beyond, figure.group)[figure.rule]
        for number in (prompt.found, prompt.compared):
            if number is not None and "child of" not in prompt.text:
                assert f"{number:g}" in prompt.text


class TestAges:
    @pytest.mark.parametrize(("age", "said"), [(3.99, True), (4.0, False), (9.0, False)])
    def test_overhead_stations_are_for_four_and_up(self, age: float, said: bool) -> None:
        assert ("overhead-under-4" in rules(station(kind=OVERHEAD), aged(age))) is said

    @pytest.mark.parametrize(("age", "said"), [(7.99, True), (8.0, False)])
    def test_blocks_are_for_eight_and_up(self, age: float, said: bool) -> None:
        assert ("blocks-under-8" in rules(station(kind=Kind.BLOCKS), aged(age))) is said

    @pytest.mark.parametrize(("age", "said"), [(6.99, True), (7.0, False)])
    def test_the_figure_for_an_unrated_mat_is_for_three_to_six(
        self, age: float, said: bool
    ) -> None:
        facts = station(1.2, mat_rated_m=None)
        assert ("firm-mat-unrated" in rules(facts, aged(age))) is said

    def test_without_an_age_the_stricter_figure_is_taken_and_the_text_says_so(self) -> None:
        beam = rules(station(0.35, kind=BEAM), aged(None))["beam-height"]
        grip = rules(station(grip=1.6, kind=OVERHEAD), aged(None))["grip-height"]
        assert (beam.compared, grip.compared) == (0.305, 1.52)
        assert "age is not written down" in beam.text
        assert "age is not written down" in grip.text
        assert "firm-mat-unrated" in rules(station(1.2, mat_rated_m=None), aged(None))


class TestClearZone:
    @pytest.mark.parametrize(
        ("feet", "zone"), [(0.6, 1.5), (1.5, 1.5), (2.0, 1.83), (2.5, 2.17), (3.0, 2.5)]
    )
    def test_it_follows_the_published_formula(self, feet: float, zone: float) -> None:
        """X = 2/3 Y + 0.5 m above 1.5 m: 2.0 to 1.83, 2.5 to 2.17, 3.0 to 2.5 (sichere-kita.de)."""
        assert clear_zone_needed(feet) == zone

    def test_below_0_6_m_no_zone_is_asked_for(self) -> None:
        assert "clear-zone" not in rules(station(0.59, clear_zone_m=0.2))
        assert "clear-zone" in rules(station(0.6, clear_zone_m=1.49))


class TestCrowdedStations:
    def test_more_than_eight_at_one_station(self) -> None:
        """At most 8 at one apparatus: UK gymnastics guidance as on a club's page, second-hand."""
        assert "crowded-station" not in rules(station(), replace(TENS, children_at={"s": 8}))
        prompt = rules(station(), replace(TENS, children_at={"s": 9}))["crowded-station"]
        assert (prompt.severity, prompt.status) == (WARN, SECOND_HAND)
        assert "club" in prompt.source
        assert (prompt.found, prompt.compared) == (9, 8)

    def test_a_limit_of_ones_own_is_named_as_such(self) -> None:
        group = replace(TENS, children_at={"s": 6})
        (prompt,) = prompts([station()], group, SafetyLimits(children_at_station=5))
        assert (prompt.rule, prompt.status) == ("crowded-station", Status.OWN)
        assert "own" in prompt.source


class TestSpacing:
    def test_low_pieces_stand_nearer_than_others_and_flat_ones_anywhere(self) -> None:
        assert "spacing" in rules(station(0.5, spacing_m=1.82))
        assert "spacing" not in rules(station(0.5, spacing_m=1.83))
        assert "spacing" in rules(station(0.8, spacing_m=1.83))
        assert "spacing" not in rules(station(0.8, spacing_m=2.74))
        assert "spacing" not in rules(station(0.0, spacing_m=0.3))

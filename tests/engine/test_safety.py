"""Prompts about a floor: heights, facts not written down, order, tone, and more with height."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as some

from progress.engine.safety import ANALOGY, CLOSING, RULES, prompts
from progress.engine.safety_facts import (
    GroupFacts,
    Kind,
    Mat,
    Prompt,
    Severity,
    StationFacts,
    Status,
    VariantFacts,
)
from tests.engine.random_stations import groups, quietly, stations
from tests.engine.safety_figures import FIGURES, TENS, aged, rules, station

ALL_CLEAR = re.compile(
    r"\b(safe|safely|safety|ok|okay|cleared|all.clear|approved|allowed|harmless|fine|complies)\b",
    re.IGNORECASE,
)


class TestHeights:
    @pytest.mark.parametrize(
        ("feet", "rule"),
        [
            (0.6, None),
            (1.0, None),
            (1.2, "feet-above-1"),
            (1.5, "feet-above-1"),
            (1.8, "feet-above-1.5"),
            (3.0, "feet-above-1.5"),
            (3.2, "feet-above-3"),
        ],
    )
    def test_each_height_gets_the_most_serious_prompt_only(
        self, feet: float, rule: str | None
    ) -> None:
        found = [name for name in rules(station(feet)) if name.startswith("feet")]
        assert found == ([rule] if rule else [])

    def test_the_text_is_plain_and_names_both_numbers(self) -> None:
        prompt = rules(station(1.8))["feet-above-1.5"]
        assert prompt.text == (
            "Feet 1.8 m: above 1.5 m falls had about four times the injuries of lower ones."
        )
        assert (prompt.source, prompt.analogy) == ("Chalmers 1996 (abstract read)", True)

    def test_each_high_variant_is_named_and_the_mat_is_about_the_highest(self) -> None:
        steps = tuple(
            VariantFacts(c, c, h, None, False) for c, h in (("a", 0.5), ("b", 1.2), ("c", 2))
        )
        found = prompts([station(mat_rated_m=1.1, variants=steps)], TENS)
        assert {(p.rule, p.variants) for p in found} == {
            ("feet-above-1.5", ("c",)),
            ("feet-above-1", ("b",)),
            ("mat-rated-lower", ("c",)),
        }

    def test_no_mat_written_down_is_as_serious_as_none(self) -> None:
        for mat, said in ((Mat.NONE, "and no mat:"), (Mat.UNKNOWN, "no mat written down")):
            prompt = rules(station(0.6, mat=mat))["no-mat"]
            assert prompt.severity is Severity.STOP
            assert said in prompt.text

    @pytest.mark.parametrize(
        ("kind", "feet", "said"),
        [(Kind.DROP, 0.6, True), (Kind.DROP, 0.5, False), (Kind.ROPE, 0.0, True)],
    )
    def test_a_way_down_is_wanted_where_children_get_up(
        self, kind: Kind, feet: float, said: bool
    ) -> None:
        assert ("no-way-down" in rules(station(feet, kind=kind, way_down=False))) is said


class TestMissingFacts:
    def test_one_prompt_lists_all_that_a_high_station_lacks(self) -> None:
        bare = StationFacts(
            "s", "Wall", Kind.ROPE, Mat.DEEP_SOFT, variants=(VariantFacts("v", "Top", 1.0),)
        )
        found = [p for p in prompts([bare], TENS) if p.rule == "missing-facts"]
        assert len(found) == 1
        assert found[0].severity is Severity.WARN
        for fact in (
            "whether children land on their feet",
            "the mat's rated height",
            "when the mat was last looked over",
            "the way down",
            "the free space in the way of the swing",
            "the free landing space",
            "how far the next piece is",
        ):
            assert fact in found[0].text
        assert "ask the maker" in found[0].todo
        assert found[0].status is Status.PROPOSAL

    def test_only_what_a_rule_would_have_used_is_asked_for(self) -> None:
        low = StationFacts("s", "Shapes", variants=(VariantFacts("v", "", 0.0),))
        assert prompts([low], TENS) == ()

    @pytest.mark.parametrize(
        ("kind", "severity"), [(Kind.CLIMB, Severity.WARN), (Kind.OTHER, Severity.INFO)]
    )
    def test_an_unknown_height_matters_more_where_children_leave_the_floor(
        self, kind: Kind, severity: Severity
    ) -> None:
        blank = station(None, kind=kind)
        prompt = rules(blank)["missing-facts"]
        assert prompt.severity is severity
        assert "how high the feet are (Base)" in prompt.text
        assert "how high the feet are" in rules(replace(blank, variants=()))["missing-facts"].text

    def test_an_overhead_grip_without_a_height_is_asked_for(self) -> None:
        assert "grip" in rules(station(grip=None, kind=Kind.OVERHEAD))["missing-facts"].text
        assert rules(station(grip=None, kind=Kind.BEAM)) == {}

    def test_the_group_has_one_of_its_own_and_only_with_children(self) -> None:
        (prompt,) = prompts([], GroupFacts(8))
        assert "the youngest child's age; the adults present" in prompt.text
        assert prompts([], GroupFacts(0)) == ()

    @quietly
    @given(facts=stations, group=groups)
    def test_there_is_at_most_one_for_a_station(
        self, facts: StationFacts, group: GroupFacts
    ) -> None:
        found = [p for p in prompts([facts], group) if p.rule == "missing-facts"]
        assert len([p for p in found if p.station == "s"]) <= 1
        assert len([p for p in found if p.station is None]) <= 1


class TestOrderAndTone:
    def test_stops_come_first_then_the_group_then_stations_as_given(self) -> None:
        floor = [
            replace(station(1.2), code="low"),
            replace(station(3.5, mat=Mat.NONE), code="high"),
            replace(station(1.8), code="middle"),
        ]
        found = prompts(floor, GroupFacts(14, None, 1))
        assert [(p.severity, p.station) for p in found] == [
            (Severity.STOP, None),
            (Severity.STOP, "high"),
            (Severity.STOP, "high"),
            (Severity.WARN, None),
            (Severity.WARN, "middle"),
            (Severity.INFO, "low"),
        ]

    def test_nothing_wrong_is_no_prompt_and_no_word_of_praise(self) -> None:
        assert prompts([station()], TENS) == ()
        assert {severity.value for severity in Severity} == {"stop", "warn", "info"}

    def test_a_person_decides(self) -> None:
        for who in ("maker", "local code", "qualified person"):
            assert who in CLOSING
        assert not ALL_CLEAR.search(CLOSING)
        assert not ALL_CLEAR.search(ANALOGY)

    @quietly
    @given(facts=stations, group=groups)
    def test_no_prompt_says_that_anything_is_well(
        self, facts: StationFacts, group: GroupFacts
    ) -> None:
        for prompt in prompts([facts], group):
            assert not ALL_CLEAR.search(f"{prompt.text} {prompt.todo}")
            assert prompt.source
            assert prompt.text[0].isupper() or prompt.text[0].isdigit()

    def test_every_rule_has_a_figure_checked_in_these_tests(self) -> None:
        checked = {figure.rule for figure in FIGURES} | {"crowded-station"}
        assert {rule.code for rule in RULES} == checked


def seriousness(found: tuple[Prompt, ...]) -> list[int]:
    """How many prompts there are at least as serious as each severity."""
    order = list(Severity)
    return [
        sum(order.index(prompt.severity) <= order.index(level) for prompt in found)
        for level in order
    ]


class TestMoreHeight:
    @quietly
    @given(facts=stations, group=groups, data=some.data())
    def test_it_never_gives_fewer_or_milder_prompts(
        self, facts: StationFacts, group: GroupFacts, data: some.DataObject
    ) -> None:
        raised = tuple(
            replace(
                variant,
                height_m=self.raised(variant.height_m, data),
                hand_height_m=self.raised(variant.hand_height_m, data),
            )
            for variant in facts.variants
        )
        before = seriousness(prompts([facts], group))
        after = seriousness(prompts([replace(facts, variants=raised)], group))
        assert all(more >= less for less, more in zip(before, after, strict=True))

    @staticmethod
    def raised(height: float | None, data: some.DataObject) -> float | None:
        return None if height is None else height + data.draw(some.floats(0, 3))


class TestFactsThatAreNone:
    @pytest.mark.parametrize("wrong", [-0.1, float("nan"), float("inf")])
    def test_what_is_no_measure_is_refused(self, wrong: float) -> None:
        with pytest.raises(ValueError, match="no measure"):
            VariantFacts("v", height_m=wrong)
        with pytest.raises(ValueError, match="no measure"):
            StationFacts("s", "S", clear_zone_m=wrong)
        with pytest.raises(ValueError, match="no measure"):
            aged(wrong)

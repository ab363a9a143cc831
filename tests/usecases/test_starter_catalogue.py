"""The starter catalogue as data: what a new gym begins with."""

import re
from collections import Counter
from itertools import pairwise
from typing import Any

import pytest

from progress.engine import terms
from progress.engine.rules import Rules
from progress.models import ConstraintChoice, Setup, Skill, Station, Variant
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue

FITS_A_PHONE = 40  # characters; our own limit for one or two lines at 320 px
STARTER = starter_catalogue()
MAIN = [skill for skill in STARTER["skills"] if skill["ladder"] != "EARLY"]
EARLY = [skill for skill in STARTER["skills"] if skill["ladder"] == "EARLY"]
VARIANTS = [variant for station in STARTER["stations"] for variant in station["variants"]]
# Every caution leaves the last word to one of these.
LAST_WORD = ("maker", "local", "qualified", "lead")


def by_code() -> dict[str, dict[str, Any]]:
    """The starter's skills by code."""
    return {skill["code"]: skill for skill in STARTER["skills"]}


def with_all_needs(code: str) -> set[str]:
    """A skill and everything it needs, directly or not."""
    skills = by_code()
    return {code}.union(*(with_all_needs(need) for need in skills[code]["needs"]))


# What the starter says


def test_it_has_twelve_ladders_of_one_skill_in_each_of_four_tiers() -> None:
    places = Counter((skill["ladder"], skill["tier"]) for skill in MAIN)
    assert len(places) == 48
    assert set(places.values()) == {1}
    assert len({ladder for ladder, _ in places}) == 12
    assert {tier for _, tier in places} == {1, 2, 3, 4}


def test_it_has_eight_gates_and_each_is_required() -> None:
    gates = {skill["code"] for skill in STARTER["skills"] if skill["gate"]}
    landing, falling = {"LAND-1", "LAND-2", "LAND-3"}, {"FALL-1", "FALL-2"}
    assert gates == landing | falling | {"DOWN-1", "DOWN-2", "FLOW-1"}
    assert all(by_code()[code]["required"] for code in gates)


def test_a_child_can_leave_a_tier_without_every_skill_of_it() -> None:
    required = Counter(skill["tier"] for skill in MAIN if skill["required"])
    assert all(6 <= required[tier] <= 9 for tier in (1, 2, 3, 4))


def test_whatever_a_required_skill_needs_is_required_too() -> None:
    skills = by_code()
    for skill in MAIN:
        if skill["required"]:
            assert all(skills[need]["required"] for need in skill["needs"]), skill["code"]


def test_no_skill_needs_one_of_a_higher_tier() -> None:
    skills = by_code()
    for skill in MAIN:
        assert all(skills[need]["tier"] <= skill["tier"] for need in skill["needs"])


def test_it_says_that_it_is_a_proposal_and_not_a_standard() -> None:
    assert "proposal" in STARTER["about"]


def test_the_needs_hold_no_circle() -> None:
    terms.refuse_cycle({skill["code"]: skill["needs"] for skill in STARTER["skills"]})


def test_the_small_area_never_holds_a_school_age_child_back() -> None:
    assert len(EARLY) == 7
    assert all(skill["tier"] == 1 and not skill["required"] for skill in EARLY)
    needed = {need for skill in MAIN for need in skill["needs"]}
    assert not needed & {skill["code"] for skill in EARLY}
    assert any(ladder["code"] == "EARLY" and ladder["note"] for ladder in STARTER["ladders"])


def test_every_skill_has_three_short_look_fors_and_no_two_alike() -> None:
    for skill in STARTER["skills"]:
        assert len(set(skill["look_fors"])) == 3, skill["code"]
        assert all(0 < len(text) <= 60 for text in skill["look_fors"]), skill["code"]


@pytest.mark.parametrize("entry", [*STARTER["skills"], *VARIANTS], ids=lambda entry: entry["code"])
def test_a_caution_leaves_the_last_word_to_maker_law_or_people(entry: dict[str, Any]) -> None:
    assert any(word in entry["caution"].lower() for word in LAST_WORD)
    assert "safe" not in entry["caution"].lower()


def test_every_name_fits_a_phone_and_none_comes_twice() -> None:
    for part in ("tiers", "ladders", "skills", "stations"):
        names = [entry["name"] for entry in STARTER[part]]
        assert max(map(len, names)) <= FITS_A_PHONE
        assert len(set(names)) == len(names)
    assert max(len(variant["name"]) for variant in VARIANTS) <= FITS_A_PHONE


def test_hanging_along_an_overhead_ladder_starts_at_four_years() -> None:
    ages = {skill["code"]: skill.get("minimum_age") for skill in STARTER["skills"]}
    assert [ages[f"TRAV-{n}"] for n in (1, 2, 3, 4)] == [None, 4, 4, 4]
    for variant in VARIANTS:
        if ages[variant["skill"]]:
            assert variant["minimum_age"] >= ages[variant["skill"]]


# The station library


def test_every_station_has_an_easier_a_base_and_a_harder_variant() -> None:
    assert len(STARTER["stations"]) == 15
    for station in STARTER["stations"]:
        assert [variant["step"] for variant in station["variants"]] == [-1, 0, 1]
    codes = [variant["code"] for variant in VARIANTS]
    assert len(set(codes)) == 45


def test_feet_are_high_only_where_the_skill_already_asks_for_the_landings() -> None:
    for variant in VARIANTS:
        asked = with_all_needs(variant["skill"])
        for rule in Rules().height_rules:
            if variant["height_m"] > rule.above_m:
                assert set(rule.needs) <= asked, variant["code"]
        assert variant["height_m"] <= 1.5


def test_a_harder_step_is_a_later_skill_or_the_same_skill_made_harder() -> None:
    tier = {skill["code"]: skill["tier"] for skill in STARTER["skills"]}
    for station in STARTER["stations"]:
        for one, next_up in pairwise(station["variants"]):
            if one["skill"] == next_up["skill"]:
                assert one["difficulty"] < next_up["difficulty"], next_up["code"]
            else:
                assert tier[one["skill"]] <= tier[next_up["skill"]], next_up["code"]


def test_wherever_an_adult_must_stand_there_is_one_lane() -> None:
    assert all(variant["lanes"] == 1 for variant in VARIANTS if variant["spotter"])


@pytest.mark.django_db
def test_every_variant_can_stand_on_a_floor() -> None:
    load_catalogue(source=STARTER)
    setup = Setup.objects.create(name="All of the library")
    skills = Skill.objects.in_bulk(field_name="code")
    for design in STARTER["stations"]:
        station = Station.objects.create(setup=setup, code=design["code"], name=design["name"])
        for values in design["variants"]:
            variant = Variant(**{**values, "skill": skills[values["skill"]], "station": station})
            variant.full_clean()
            variant.save()
            assert variant.change in ConstraintChoice.values
    assert Variant.objects.count() == 45


# Ideas for home stay on the floor (common practice, no source).

ON_THE_FLOOR = {"LAND", "JUMP", "BAL", "NET", "FLOW", "EARLY"}
NOT_AT_HOME = re.compile(
    r"\b(climb|swing|roll|rolls|hang|flip|jump|drop|stairs?|sofa|bed|chair|table|wall|bar|rope"
    r"|high|height|run|fast)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("idea", STARTER["home_ideas"], ids=lambda idea: idea["code"])
def test_an_idea_for_home_asks_for_nothing_but_the_floor(idea: dict[str, Any]) -> None:
    skill = by_code()[idea["skill"]]
    assert skill["ladder"] in ON_THE_FLOOR
    assert "hang" not in skill["name"].lower()
    assert NOT_AT_HOME.findall(idea["text"]) == []
    assert len(idea["caution"]) > 20


def test_ideas_for_home_are_short_and_each_has_a_code_of_its_own() -> None:
    ideas = STARTER["home_ideas"]
    assert len({idea["code"] for idea in ideas}) == len(ideas) >= 15
    assert max(len(idea["text"]) for idea in ideas) <= 160

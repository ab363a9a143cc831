"""What loading a catalogue stores, keeps and refuses."""

from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest

from progress.models import HomeIdea, Ladder, LookFor, Skill, SkillNeed, Tier
from progress.usecases.load_catalogue import (
    CatalogueLoaded,
    CatalogueRefused,
    load_catalogue,
    starter_catalogue,
)
from tests import makers

STARTER = starter_catalogue()


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """All records of the catalogue, row by row."""
    models = (Tier, Ladder, Skill, LookFor, SkillNeed)
    return {model.__name__: sorted(model._default_manager.values_list()) for model in models}


def small_source() -> dict[str, Any]:
    """A catalogue of two skills, one needing the other."""
    skill = {"ladder": "LAND", "tier": 1, "look_fors": ["Still"]}
    return {
        "tiers": [{"number": 1, "name": "First"}],
        "ladders": [{"code": "LAND", "name": "Landing"}],
        "skills": [
            {"code": "LAND-1", "name": "Land", **skill},
            {"code": "LAND-2", "name": "Land from a step", "needs": ["LAND-1"], **skill},
        ],
        "home_ideas": [
            {"code": "hop", "skill": "LAND-1", "text": "One tiny hop.", "caution": "Flat floor."},
        ],
    }


# Loading


@pytest.mark.django_db
def test_loading_stores_the_whole_starter() -> None:
    loaded = load_catalogue(source=STARTER)
    needs = sum(len(skill["needs"]) for skill in STARTER["skills"])
    assert loaded == CatalogueLoaded(
        tiers=4, ladders=13, skills=55, look_fors=165, needs=needs, kept=()
    )
    catalogue = Skill.objects.as_catalogue()
    assert len(catalogue.skills) == 55
    assert catalogue.skill("WALL-4").needs == ("DOWN-2", "FALL-2", "LAND-3", "WALL-2", "WALL-3")
    first = Skill.objects.get(code="LAND-1")
    written = next(skill for skill in STARTER["skills"] if skill["code"] == "LAND-1")
    assert [look_for.text for look_for in first.look_fors.all()] == written["look_fors"]


@pytest.mark.django_db
def test_loading_twice_changes_nothing() -> None:
    load_catalogue(source=STARTER)
    before = everything()
    again = load_catalogue(source=starter_catalogue())
    assert everything() == before
    assert (again.tiers, again.ladders, again.skills, again.look_fors, again.needs) == (0,) * 5
    assert len(again.kept) == 55


@pytest.mark.django_db
def test_a_lead_s_own_edits_outlive_a_second_loading() -> None:
    load_catalogue(source=STARTER)
    Skill.objects.filter(code="JUMP-2").update(name="Leap the stream", required=False)
    Tier.objects.filter(number=2).update(name="Second term")
    SkillNeed.objects.filter(skill__code="JUMP-2", need__code="LAND-2").delete()
    LookFor.objects.filter(skill__code="JUMP-2", order=3).delete()
    before = everything()
    load_catalogue(source=STARTER)
    assert everything() == before


@pytest.mark.django_db
def test_a_skill_that_is_new_joins_those_that_are_there() -> None:
    load_catalogue(source=small_source())
    source = small_source()
    source["skills"][0]["name"] = "Not taken over"
    source["skills"].append(
        {
            "code": "LAND-9",
            "name": "Land from higher",
            "ladder": "LAND",
            "tier": 1,
            "needs": ["LAND-2"],
            "look_fors": ["Quiet", "Still"],
        }
    )
    loaded = load_catalogue(source=source)
    assert (loaded.skills, loaded.look_fors, loaded.needs) == (1, 2, 1)
    assert loaded.kept == ("LAND-1", "LAND-2")
    assert Skill.objects.get(code="LAND-1").name == "Land"


@pytest.mark.django_db
def test_a_skill_may_build_on_what_only_the_gym_has() -> None:
    makers.make_skill("OWN-1", ladder="own", tier=1)
    skill = {"code": "NEW-1", "name": "New", "ladder": "own", "tier": 1, "look_fors": []}
    load_catalogue(source={"skills": [{**skill, "needs": ["OWN-1"]}]})
    assert Skill.objects.get(code="NEW-1").needs.get().code == "OWN-1"


# Refusing


def broken_sources() -> Iterator[Any]:
    """Catalogues with one thing wrong, and what the refusal must name."""

    def case(name: str, part: str, place: int, change: dict[str, Any], says: str) -> Any:
        source = deepcopy(small_source())
        source[part][place].update(change)
        return pytest.param(source, says, id=name)

    yield case("unknown need", "skills", 1, {"needs": ["LAND-7"]}, "LAND-2: needs LAND-7")
    yield case("unknown ladder", "skills", 0, {"ladder": "SKY"}, "no ladder SKY")
    yield case("unknown tier", "skills", 0, {"tier": 6}, "no tier 6")
    yield case("circle", "skills", 0, {"needs": ["LAND-2"]}, "circle")
    yield case("needs itself", "skills", 0, {"needs": ["LAND-1"]}, "circle")
    yield case("code twice", "skills", 1, {"code": "LAND-1", "needs": []}, "LAND-1 comes 2 times")
    yield case("no name", "skills", 0, {"name": None}, "entry 1: name is missing")
    yield case("name too long", "skills", 0, {"name": "x" * 201}, "skill LAND-1: name")
    yield case("empty name", "ladders", 0, {"name": ""}, "ladder LAND: name")
    yield case("impossible standard", "skills", 0, {"standard": 1.2}, "LAND-1: standard")
    yield case("empty look-for", "skills", 0, {"look_fors": [" "]}, "LAND-1: a look-for")
    yield case("needs as text", "skills", 1, {"needs": "LAND-1"}, "entry 2: needs")
    yield case("idea for nothing", "home_ideas", 0, {"skill": "SKY"}, "SKY is not a known skill")
    yield case("idea without care", "home_ideas", 0, {"caution": ""}, "home idea hop: caution")
    yield case("idea too long", "home_ideas", 0, {"text": "x" * 301}, "home idea hop: text")
    yield case("tier zero", "tiers", 0, {"number": 0}, "tier 0: number")


@pytest.mark.django_db
@pytest.mark.parametrize(("source", "says"), list(broken_sources()))
def test_a_broken_catalogue_is_refused_and_nothing_is_stored(
    source: dict[str, Any], says: str
) -> None:
    with pytest.raises(CatalogueRefused) as refused:
        load_catalogue(source=source)
    assert any(says in problem for problem in refused.value.problems), refused.value.problems
    assert all(rows == [] for rows in everything().values())


@pytest.mark.django_db
def test_every_problem_is_named_at_once() -> None:
    source = small_source()
    source["skills"][0]["ladder"] = "SKY"
    source["skills"][1]["needs"] = ["LAND-7", "LAND-8"]
    with pytest.raises(CatalogueRefused) as refused:
        load_catalogue(source=source)
    assert len(refused.value.problems) == 3


@pytest.mark.django_db
def test_a_circle_is_refused_even_among_skills_that_would_be_kept() -> None:
    load_catalogue(source=small_source())
    before = everything()
    source = small_source()
    source["skills"][0]["needs"] = ["LAND-2"]
    with pytest.raises(CatalogueRefused, match="needs go in a circle: LAND-"):
        load_catalogue(source=source)
    assert everything() == before


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("change", "says"),
    [({"skill": "LAND-7"}, "not a known skill"), ({"change": "colour"}, "not a kind of change")],
)
def test_a_station_of_unknown_skills_or_changes_is_refused(
    change: dict[str, str], says: str
) -> None:
    variant = {"code": "box", "name": "Box", "step": 0, "skill": "LAND-1", "change": "height"}
    station = {"code": "box", "name": "Box", "variants": [{**variant, **change}]}
    with pytest.raises(CatalogueRefused, match=says):
        load_catalogue(source={**small_source(), "stations": [station]})


# Ideas for home


@pytest.mark.django_db
def test_no_family_sees_an_idea_before_a_lead_marks_it() -> None:
    load_catalogue(source=small_source())
    idea = HomeIdea.objects.get()
    assert (idea.skill.code, idea.active) == ("LAND-1", False)

    HomeIdea.objects.update(active=True, text="In a lead's words.")
    load_catalogue(source=small_source())
    idea.refresh_from_db()
    assert (idea.text, idea.active) == ("In a lead's words.", True)


@pytest.mark.django_db
def test_an_idea_may_be_for_a_skill_the_gym_has_already() -> None:
    load_catalogue(source=small_source())
    more = {"code": "more", "skill": "LAND-2", "text": "Look.", "caution": "Flat floor."}
    load_catalogue(source={"home_ideas": [more]})
    assert HomeIdea.objects.count() == 2

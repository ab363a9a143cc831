"""Variants are added, changed and removed; what makes one a new one, and what cannot be."""

from typing import Any

import pytest

from progress.models import Setup, Skill, StaffMember
from progress.usecases.floors.change_variants import remove_variant, save_variant
from progress.usecases.floors.changes import FloorRefused
from tests.usecases.floors.floors import Hall, undone


@pytest.fixture
def facts(small_catalogue: dict[str, Skill]) -> dict[str, Any]:
    """A new variant, one step harder."""
    return {
        "name": "Knee high",
        "step": 1,
        "skill": small_catalogue["LAND-2"],
        "change": "height",
        "height_m": 0.5,
        "hand_height_m": None,
        "spotter": True,
        "lanes": 2,
        "seconds": 15.0,
        "places": None,
        "minimum_age": 5.0,
        "caution": "Deep mat.",
    }


def test_a_new_one_keeps_every_fact(hall: Hall, coach: StaffMember, facts: dict[str, Any]) -> None:
    save_variant(station=hall.beam, variant=None, facts=facts, by=coach)

    made = hall.beam.variants.get(step=1)
    assert made.code == "beam-harder"
    assert {name: getattr(made, name) for name in facts} == facts


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"step": 0}, "is on step 0 already"),
        ({"step": 9}, "steps go from -5"),
        ({"skill": None}, "skill is not in the catalogue"),
        ({"change": "colour"}, "what changes is not known"),
        ({"height_m": 10.1}, "feet height must be from 0 to 10 metres"),
        ({"height_m": -0.1}, "feet height must be from 0 to 10 metres"),
        ({"height_m": float("nan")}, "feet height must be"),
        ({"hand_height_m": 0.0}, "hand height must be from 0.01 to 10"),
        ({"seconds": 0.0}, "time of one turn must be"),
        ({"places": 0}, "number of places must be"),
        ({"minimum_age": -1.0}, "youngest age must be"),
        ({"lanes": 0}, "at least 1 lane"),
    ],
)
def test_what_cannot_be_is_refused_where_it_is_wrong(
    hall: Hall,
    coach: StaffMember,
    facts: dict[str, Any],
    wrong: dict[str, Any],
    words: str,
) -> None:
    with pytest.raises(FloorRefused, match=words) as refused:
        save_variant(station=hall.beam, variant=None, facts=facts | wrong, by=coach)

    assert str(refused.value).startswith("Beam, Knee high:")
    assert refused.value.field == next(iter(wrong))
    assert hall.beam.variants.count() == 1


@pytest.mark.parametrize("height", [0.0, 10.0, None])
def test_heights_from_the_floor_to_ten_metres_can_be(
    hall: Hall, coach: StaffMember, facts: dict[str, Any], height: float | None
) -> None:
    save_variant(station=hall.beam, variant=None, facts=facts | {"height_m": height}, by=coach)

    assert hall.beam.variants.get(step=1).height_m == height


@pytest.mark.parametrize(
    ("changed", "same"),
    [
        ({"name": "Knee high, with a hand"}, True),
        ({"lanes": 1, "spotter": False}, True),
        ({"hand_height_m": 1.4}, True),
        ({"height_m": 0.8}, False),
        ({"height_m": None}, False),
    ],
)
def test_only_what_makes_it_another_task_makes_it_a_new_variant(
    hall: Hall,
    coach: StaffMember,
    facts: dict[str, Any],
    changed: dict[str, Any],
    same: bool,
) -> None:
    save_variant(station=hall.beam, variant=None, facts=facts, by=coach)
    kept = hall.beam.variants.get(step=1)

    save_variant(station=hall.beam, variant=kept, facts=facts | changed, by=coach)

    now = hall.beam.variants.get(step=1)
    assert now.pk == kept.pk
    assert now.code == ("beam-harder" if same else "beam-harder-2")


def test_another_skill_makes_it_a_new_variant_and_forgets_its_difficulty(
    hall: Hall,
    coach: StaffMember,
    facts: dict[str, Any],
    small_catalogue: dict[str, Skill],
) -> None:
    save_variant(station=hall.beam, variant=None, facts=facts, by=coach)
    hall.beam.variants.update(difficulty=0.5)
    kept = hall.beam.variants.get(step=1)

    done = save_variant(
        station=hall.beam,
        variant=kept,
        facts=facts | {"skill": small_catalogue["HANG-1"]},
        by=coach,
    )

    now = hall.beam.variants.get(step=1)
    assert (now.code, now.difficulty) == ("beam-harder-2", None)
    assert "learnt afresh" in done.says


def test_a_removed_one_comes_back_as_it_was(hall: Hall, coach: StaffMember) -> None:
    variant = hall.beam.variants.get()
    done = remove_variant(station=hall.beam, variant=variant, by=coach)
    assert not hall.beam.variants.exists()

    undone(hall, done, coach)

    assert hall.beam.variants.get().code == variant.code


def test_it_does_not_come_back_onto_a_step_that_is_taken(
    hall: Hall, coach: StaffMember, facts: dict[str, Any]
) -> None:
    done = remove_variant(station=hall.beam, variant=hall.beam.variants.get(), by=coach)
    save_variant(station=hall.beam, variant=None, facts=facts | {"step": 0}, by=coach)

    with pytest.raises(FloorRefused, match="another variant on step 0"):
        undone(hall, done, coach)


def test_a_used_setup_takes_no_change(
    hall: Hall, coach: StaffMember, facts: dict[str, Any]
) -> None:
    Setup.objects.filter(pk=hall.setup.pk).update(published=True)
    hall.beam.setup.refresh_from_db()

    with pytest.raises(FloorRefused, match="published"):
        save_variant(station=hall.beam, variant=None, facts=facts, by=coach)

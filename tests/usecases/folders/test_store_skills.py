"""Skills are brought up to date without losing what the file does not say."""

from pathlib import Path

import pytest

from progress.models import Ladder, LookFor, Skill
from progress.usecases.folders.tally import Tally
from tests.makers import make_ladder, make_skill
from tests.usecases.folders.samples import load, table

pytestmark = pytest.mark.django_db

HEADER = "skill,ladder,tier,name,required,gate,standard,look_for,caution"


def load_skills(folder: Path, *rows: str) -> Tally:
    """Load these rows; the tally of the file."""
    return load(folder, {"skills.csv": table(HEADER, *rows)}).files["skills.csv"]


def test_a_new_skill_without_a_name_is_called_by_its_code(tmp_path: Path) -> None:
    load_skills(tmp_path, "land,landing,1")
    skill = Skill.objects.get()
    assert (skill.name, skill.required, skill.gate, skill.standard) == ("land", True, False, 0.8)


def test_an_empty_cell_leaves_what_is_stored(tmp_path: Path) -> None:
    make_skill("land", name="Land", gate=True, standard=0.9, caution="Mats.", look_fors=["Knees"])
    load_skills(tmp_path, "land,landing,2,,,,,,")
    skill = Skill.objects.get()
    assert (skill.tier_id, skill.name, skill.gate, skill.standard) == (2, "Land", True, 0.9)
    assert skill.caution == "Mats."
    assert LookFor.objects.get().text == "Knees"


def test_skills_are_counted_by_what_became_of_them(tmp_path: Path) -> None:
    load_skills(tmp_path, "a,landing,1", "b,landing,1")
    assert load_skills(tmp_path, "a,landing,2", "b,landing,1", "c,landing,1") == Tally(1, 1, 1)


def test_new_look_fors_take_the_place_of_the_old(tmp_path: Path) -> None:
    make_skill("land", look_fors=["Knees", "Feet", "Arms"])
    assert load_skills(tmp_path, "land,landing,1,,,,,Feet | Quiet,") == Tally(updated=1)
    assert list(LookFor.objects.values_list("text", flat=True)) == ["Feet", "Quiet"]


def test_look_fors_that_stay_the_same_are_not_made_anew(tmp_path: Path) -> None:
    skill = make_skill("land", name="Land", look_fors=["Knees", "Feet"])
    before = list(LookFor.objects.values_list("pk", flat=True))
    assert load_skills(tmp_path, f"land,{skill.ladder.code},1,,,,,Knees | Feet,") == Tally(same=1)
    assert list(LookFor.objects.values_list("pk", flat=True)) == before


def test_new_ladders_come_after_the_others_in_the_order_of_the_file(tmp_path: Path) -> None:
    make_ladder("balance", order=7)
    load_skills(tmp_path, "a,vaulting,1", "b,balance,1", "c,climbing,1")
    ladders = Ladder.objects.values_list("code", flat=True)
    assert list(ladders) == ["balance", "vaulting", "climbing"]


def test_a_skill_may_move_to_another_ladder(tmp_path: Path) -> None:
    make_skill("land", ladder="landing")
    load_skills(tmp_path, "land,rolling,1")
    assert Skill.objects.get().ladder.code == "rolling"

"""How a child's name is shown: as the gym has it, by first name, or by a name of their own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from progress.models import Athlete, Guardian
from progress.usecases.families.display_name import (
    LONGEST,
    NameRefused,
    ShownAs,
    choose_name,
    chosen,
    shown_name,
    tidied,
)
from tests import makers


@pytest.fixture
def child(db: None) -> Athlete:
    return makers.make_athlete("ada", name="Ada Mae Fictional")


@pytest.fixture
def parent(child: Athlete) -> Guardian:
    return makers.make_guardian([child], with_user=False)


def test_until_somebody_chooses_it_is_the_gyms_name(child: Athlete) -> None:
    assert shown_name(child) == "Ada Mae Fictional"
    assert chosen(child) is ShownAs.GYM


@pytest.mark.parametrize(
    ("way", "own", "shown"),
    [
        (ShownAs.FIRST, "", "Ada"),
        (ShownAs.OWN, "  Lightning \n Ada ", "Lightning Ada"),
        (ShownAs.OWN, "🦊", "🦊"),
        (ShownAs.OWN, "آدا", "آدا"),
        (ShownAs.OWN, "A", "A"),
        (ShownAs.GYM, "ignored", "Ada Mae Fictional"),
    ],
)
def test_the_choice_is_kept(
    child: Athlete, parent: Guardian, way: ShownAs, own: str, shown: str
) -> None:
    choose_name(athlete=child, guardian=parent, way=way, own=own)
    child.refresh_from_db()
    assert shown_name(child) == shown
    assert chosen(child) is way


def test_the_gyms_name_stays_as_it_is(child: Athlete, parent: Guardian) -> None:
    choose_name(athlete=child, guardian=parent, way=ShownAs.OWN, own="Somebody")
    child.refresh_from_db()
    assert child.name == "Ada Mae Fictional"


@pytest.mark.parametrize("nothing", ["", "   ", "\u200d", "\u202e", "\u0301", "\x00\n"])
def test_a_name_nobody_can_see_is_refused(child: Athlete, parent: Guardian, nothing: str) -> None:
    with pytest.raises(NameRefused, match="empty"):
        choose_name(athlete=child, guardian=parent, way=ShownAs.OWN, own=nothing)


def test_two_hundred_letters_fit_and_one_more_does_not(child: Athlete, parent: Guardian) -> None:
    choose_name(athlete=child, guardian=parent, way=ShownAs.OWN, own="a" * LONGEST)
    child.refresh_from_db()
    assert child.shown_as == "a" * LONGEST
    with pytest.raises(NameRefused, match="long"):
        choose_name(athlete=child, guardian=parent, way=ShownAs.OWN, own="a" * (LONGEST + 1))


def test_nobody_else_may_choose(child: Athlete) -> None:
    stranger = makers.make_guardian(with_user=False)
    with pytest.raises(PermissionError):
        choose_name(athlete=child, guardian=stranger, way=ShownAs.FIRST)


@given(st.text(max_size=300))
def test_any_text_is_refused_or_kept_in_one_visible_line_that_stays_the_same(typed: str) -> None:
    try:
        name = tidied(typed)
    except NameRefused:
        return
    assert 0 < len(name) <= LONGEST
    assert "\n" not in name
    assert "\u202e" not in name
    assert "\0" not in name
    name.encode()
    assert tidied(name) == name

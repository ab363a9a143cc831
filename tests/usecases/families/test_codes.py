"""A code by mail: once, within ten minutes, after few tries, and nobody learns who is known."""

from datetime import timedelta

import pytest

from progress.models import Athlete, FamilyCode, FamilyLink, Guardian, StaffMember
from progress.usecases.families.codes import (
    AGAIN_AFTER,
    LASTS,
    MOST_CODES,
    MOST_TRIES,
    ask_for_codes,
    open_with_code,
)
from progress.usecases.families.links import link_in_force, revoke_links
from tests import makers

NOW = makers.moment(hour=12)
MAIL = "pat@example.org"
SECOND = timedelta(seconds=1)


@pytest.fixture
def parent(ada: Athlete) -> Guardian:
    return makers.make_guardian([ada], with_user=False, email=MAIL)


@pytest.fixture
def code(parent: Guardian) -> str:
    [made] = ask_for_codes(email=" Pat@Example.org ", now=NOW)
    assert made.guardian == parent
    return made.code


def test_the_right_code_opens_the_page_once(code: str, parent: Guardian) -> None:
    link = open_with_code(email=MAIL, code=code, now=NOW + SECOND)
    assert link is not None
    assert link.guardian == parent
    assert open_with_code(email=MAIL, code=code, now=NOW + 2 * SECOND) is None


def test_a_page_opened_so_lasts_for_half_a_day_and_is_closed_with_the_links(
    code: str, parent: Guardian, coach: StaffMember
) -> None:
    link = open_with_code(email=MAIL, code=code, now=NOW)
    assert link is not None
    assert link_in_force(number=link.pk, now=NOW + timedelta(hours=11))
    assert not link_in_force(number=link.pk, now=NOW + timedelta(hours=13))
    revoke_links(guardian=parent, staff=coach, now=NOW + SECOND)
    assert not link_in_force(number=link.pk, now=NOW + 2 * SECOND)


def test_it_runs_out_after_ten_minutes(code: str) -> None:
    assert open_with_code(email=MAIL, code=code, now=NOW + LASTS) is None


def test_after_five_wrong_ones_the_right_one_is_dead_too(code: str) -> None:
    wrong = f"{(int(code) + 1) % 10**8:08d}"
    for _ in range(MOST_TRIES):
        assert open_with_code(email=MAIL, code=wrong, now=NOW) is None
    assert open_with_code(email=MAIL, code=code, now=NOW) is None
    assert not FamilyLink.objects.exists()


def test_another_address_does_not_open_with_it(code: str) -> None:
    assert open_with_code(email="other@example.org", code=code, now=NOW) is None


@pytest.mark.parametrize("nobody", ["", "nobody@example.org", "@", "x" * 300])
def test_an_unknown_address_gets_none_and_breaks_nothing(parent: Guardian, nobody: str) -> None:
    makers.make_guardian(with_user=False)  # has no address at all
    assert ask_for_codes(email=nobody, now=NOW) == []
    assert not FamilyCode.objects.exists()


def test_a_guardian_without_rights_gets_none(parent: Guardian) -> None:
    parent.guardianships.update(may_see=False)
    assert ask_for_codes(email=MAIL, now=NOW) == []


def test_a_mailbox_cannot_be_filled(parent: Guardian) -> None:
    for number in range(MOST_CODES):
        assert len(ask_for_codes(email=MAIL, now=NOW + number * SECOND)) == 1
    assert ask_for_codes(email=MAIL, now=NOW + 9 * SECOND) == []
    assert len(ask_for_codes(email=MAIL, now=NOW + AGAIN_AFTER + 9 * SECOND)) == 1


def test_two_guardians_with_one_address_each_get_their_own(parent: Guardian, bo: Athlete) -> None:
    other = makers.make_guardian([bo], with_user=False, email=MAIL.upper())
    made = ask_for_codes(email=MAIL, now=NOW)
    assert [one.guardian for one in made] == [parent, other]
    link = open_with_code(email=MAIL, code=made[1].code, now=NOW)
    assert link is not None
    assert link.guardian == other

"""Asking for erasure, taking it back, declining: one open request a child, an answer once."""

import pytest

from progress.models import Athlete, ErasureRequest, Guardian, Role, StaffMember
from progress.usecases.families.erasure import complete_erasure
from progress.usecases.families.erasure_requests import (
    ErasureRefused,
    ask_at_the_gym,
    ask_for_erasure,
    decline_erasure,
    last_answer,
    open_request,
    take_back_request,
)
from tests import makers
from tests.usecases.families.conftest import NOW


@pytest.fixture
def asked(ada: Athlete, parent: Guardian) -> ErasureRequest:
    return ask_for_erasure(athlete=ada, guardian=parent, now=NOW)


def test_asking_twice_or_by_two_adults_makes_one_request(
    asked: ErasureRequest, ada: Athlete, parent: Guardian, other_parent: Guardian
) -> None:
    for guardian in (parent, other_parent):
        assert ask_for_erasure(athlete=ada, guardian=guardian, now=NOW) == asked
    assert open_request(athlete=ada) == asked


def test_it_is_taken_back_by_who_asked_while_nobody_answered(
    asked: ErasureRequest, ada: Athlete, parent: Guardian, other_parent: Guardian
) -> None:
    assert not take_back_request(athlete=ada, guardian=other_parent)
    assert take_back_request(athlete=ada, guardian=parent)
    assert open_request(athlete=ada) is None


def test_an_answered_request_cannot_be_taken_back_or_answered_again(
    asked: ErasureRequest, ada: Athlete, parent: Guardian, lead: StaffMember
) -> None:
    decline_erasure(request=asked, lead=lead, sentence=" A bill \n is open. ", now=NOW)
    answer = last_answer(athlete=ada, guardian=parent)
    assert answer is not None
    assert answer.answer == "A bill is open."
    assert not answer.erased
    assert not take_back_request(athlete=ada, guardian=parent)
    with pytest.raises(ErasureRefused, match="open no more"):
        decline_erasure(request=asked, lead=lead, sentence="Again", now=NOW)
    with pytest.raises(ErasureRefused, match="open no more"):
        complete_erasure(request=asked, lead=lead, now=NOW)
    assert ask_for_erasure(athlete=ada, guardian=parent, now=NOW) != asked


@pytest.mark.parametrize("sentence", ["", "  ", "x" * 301])
def test_a_no_needs_a_sentence_that_fits(
    asked: ErasureRequest, lead: StaffMember, sentence: str
) -> None:
    with pytest.raises(ErasureRefused):
        decline_erasure(request=asked, lead=lead, sentence=sentence, now=NOW)
    assert ErasureRequest.objects.get().answered_at is None


def test_only_a_lead_in_service_answers(asked: ErasureRequest, coach: StaffMember) -> None:
    gone = makers.make_staff(role=Role.LEAD, active=False)
    for person in (coach, gone, makers.make_staff(role=Role.DESK)):
        with pytest.raises(ErasureRefused, match="lead"):
            decline_erasure(request=asked, lead=person, sentence="No", now=NOW)
        with pytest.raises(ErasureRefused, match="lead"):
            complete_erasure(request=asked, lead=person, now=NOW)
        with pytest.raises(ErasureRefused, match="lead"):
            ask_at_the_gym(code="ada", lead=person, now=NOW)


def test_a_guardian_without_rights_may_not_ask(cy: Athlete, parent: Guardian) -> None:
    with pytest.raises(ErasureRefused, match="rights"):
        ask_for_erasure(athlete=cy, guardian=parent, now=NOW)


def test_a_request_that_came_by_word_is_opened_by_the_lead(cy: Athlete, lead: StaffMember) -> None:
    asked = ask_at_the_gym(code=" cy ", lead=lead, now=NOW)
    assert (asked.athlete, asked.asked_by) == (cy, None)
    with pytest.raises(ErasureRefused, match="No child"):
        ask_at_the_gym(code="zz", lead=lead, now=NOW)

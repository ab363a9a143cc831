"""Consents: each on its own, no until somebody says yes, taken back at once, kept as rows."""

from dataclasses import replace
from datetime import timedelta

import pytest

from progress.models import Athlete, Consent, ConsentKind, Guardian
from progress.usecases.families import consent_texts, consents
from progress.usecases.families.consents import (
    ConsentRefused,
    ask_consents,
    give_consent,
    standing_consents,
    withdraw_consent,
)
from tests import makers

NOW = makers.moment(hour=12)
MINUTE = timedelta(minutes=1)
MAIL, PHOTO = ConsentKind.MAIL, ConsentKind.PHOTO


@pytest.fixture
def parent(ada: Athlete) -> Guardian:
    return makers.make_guardian([ada], with_user=False)


def say_yes(parent: Guardian, child: Athlete, kind: str = MAIL, version: int = 1) -> Consent:
    return give_consent(guardian=parent, athlete=child, kind=kind, version=version, now=NOW)


@pytest.fixture
def new_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """The mail's text has a second version."""
    texts = tuple(
        replace(one, version=2) if one.kind is MAIL else one for one in consent_texts.TEXTS
    )
    for module in (consent_texts, consents):
        monkeypatch.setattr(module, "TEXTS", texts)


def test_every_kind_is_asked_once_and_the_answer_is_no(parent: Guardian, ada: Athlete) -> None:
    asked = ask_consents(guardian=parent, athlete=ada)
    assert sorted(one.text.kind for one in asked) == sorted(ConsentKind)
    assert [one.given for one in asked] == [None] * len(ConsentKind)
    assert standing_consents(athlete=ada) == ()


def test_a_yes_is_to_one_thing_for_one_child(parent: Guardian, ada: Athlete, bo: Athlete) -> None:
    makers.models.Guardianship.objects.create(guardian=parent, athlete=bo)
    given = say_yes(parent, ada)
    assert standing_consents(athlete=ada) == (given,)
    assert standing_consents(athlete=bo) == ()
    said = {one.text.kind: one.given for one in ask_consents(guardian=parent, athlete=ada)}
    assert said == {MAIL: given, PHOTO: None, ConsentKind.NAME: None}


def test_saying_it_twice_keeps_it_once(parent: Guardian, ada: Athlete) -> None:
    assert say_yes(parent, ada) == say_yes(parent, ada)
    assert Consent.objects.count() == 1


def test_taking_it_back_works_at_once_and_the_rows_stay(parent: Guardian, ada: Athlete) -> None:
    say_yes(parent, ada)
    later = NOW + MINUTE
    assert withdraw_consent(guardian=parent, athlete=ada, kind=MAIL, now=later)
    assert standing_consents(athlete=ada) == ()
    assert not withdraw_consent(guardian=parent, athlete=ada, kind=MAIL, now=later)
    say_yes(parent, ada)
    [mail] = [o for o in ask_consents(guardian=parent, athlete=ada) if o.text.kind is MAIL]
    assert len(mail.history) == 2
    assert {row.withdrawn_at for row in mail.history} == {None, later}


def test_a_clock_that_runs_behind_does_not_keep_a_yes_alive(parent: Guardian, ada: Athlete) -> None:
    say_yes(parent, ada)
    assert withdraw_consent(guardian=parent, athlete=ada, kind=MAIL, now=NOW - MINUTE)
    assert standing_consents(athlete=ada) == ()


@pytest.mark.usefixtures("new_text")
def test_a_yes_to_an_older_text_does_not_count_for_the_new_one(
    parent: Guardian, ada: Athlete
) -> None:
    old = makers.models.Consent.objects.create(
        guardian=parent, athlete=ada, kind=MAIL, text_version=1, given_at=NOW - MINUTE
    )
    assert standing_consents(athlete=ada) == ()
    [mail] = [o for o in ask_consents(guardian=parent, athlete=ada) if o.text.kind is MAIL]
    assert mail.given is None
    assert mail.outdated
    with pytest.raises(ConsentRefused, match="changed"):
        say_yes(parent, ada, version=1)
    fresh = say_yes(parent, ada, version=2)
    old.refresh_from_db()
    assert old.withdrawn_at == NOW
    assert standing_consents(athlete=ada) == (fresh,)


@pytest.mark.parametrize(("kind", "version"), [("mail", 0), ("mail", 2), ("nothing", 1), ("", 1)])
def test_nobody_agrees_to_what_is_not_asked(
    parent: Guardian, ada: Athlete, kind: str, version: int
) -> None:
    with pytest.raises(ConsentRefused):
        say_yes(parent, ada, kind, version)
    assert not Consent.objects.exists()


def test_only_a_guardian_with_rights_may_answer_and_the_yes_ends_with_the_right(
    parent: Guardian, ada: Athlete, cy: Athlete
) -> None:
    with pytest.raises(ConsentRefused, match="rights"):
        say_yes(parent, cy)
    say_yes(parent, ada)
    parent.guardianships.update(may_see=False)
    assert standing_consents(athlete=ada) == ()
    with pytest.raises(ConsentRefused, match="rights"):
        say_yes(parent, ada, PHOTO)


def test_one_guardians_no_does_not_take_back_the_others_yes(parent: Guardian, ada: Athlete) -> None:
    other = makers.make_guardian([ada], with_user=False)
    given = say_yes(other, ada)
    assert not withdraw_consent(guardian=parent, athlete=ada, kind=MAIL, now=NOW)
    assert standing_consents(athlete=ada) == (given,)

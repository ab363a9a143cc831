"""What families have with the gym: links, codes, consents, requests to erase, ideas, mail."""

from datetime import timedelta
from typing import Any

import pytest

from progress.models import (
    Athlete,
    Consent,
    ErasureRequest,
    FamilyCode,
    FamilyLink,
    Guardian,
    HomeIdea,
    MailSent,
    Skill,
)
from tests import makers
from tests.models.conftest import Refusal

NOON = makers.moment(hour=12)
DAY = timedelta(days=1)


@pytest.fixture
def parent(ada: Athlete) -> Guardian:
    return makers.make_guardian([ada])


def link(parent: Guardian, digest: str = "a", **values: Any) -> FamilyLink:
    lasting = {"made_at": NOON, "expires_at": NOON + 90 * DAY}
    return FamilyLink.objects.create(guardian=parent, digest=digest, **{**lasting, **values})


class TestLinks:
    def test_open_until_they_run_out_or_are_revoked(self, parent: Guardian) -> None:
        lasting = link(parent)
        link(parent, "b", revoked_at=NOON + DAY)
        assert list(FamilyLink.objects.open_at(NOON + 2 * DAY)) == [lasting]
        assert list(FamilyLink.objects.open_at(NOON + 90 * DAY)) == []
        assert str(lasting).startswith("Link for")

    def test_end_after_they_began(self, parent: Guardian, refused: Refusal) -> None:
        row = {"guardian": parent, "digest": "x", "made_at": NOON, "expires_at": NOON}
        with refused(FamilyLink, "link_ends_after_it_began"):
            FamilyLink.objects.bulk_create([FamilyLink(**row)])
        with refused(FamilyCode, "code_ends_after_it_began"):
            FamilyCode.objects.bulk_create([FamilyCode(**row)])

    def test_no_two_open_with_the_same_secret(self, parent: Guardian, refused: Refusal) -> None:
        link(parent)
        with refused(FamilyLink, "digest"):
            FamilyLink.objects.bulk_create(
                [FamilyLink(guardian=parent, digest="a", made_at=NOON, expires_at=NOON + DAY)]
            )


class TestConsents:
    def test_each_stands_once_and_may_be_given_again(
        self, parent: Guardian, ada: Athlete, refused: Refusal
    ) -> None:
        row = {"guardian": parent, "athlete": ada, "kind": "mail", "given_at": NOON}
        first = Consent.objects.create(**row)
        with refused(Consent, "consent_stands_once"):
            Consent.objects.bulk_create([Consent(**row)])
        Consent.objects.filter(pk=first.pk).update(withdrawn_at=NOON + DAY)
        assert list(Consent.objects.standing()) == []
        again = Consent.objects.create(**row)
        assert list(Consent.objects.standing()) == [again]

    def test_end_with_the_guardians_right(self, parent: Guardian, ada: Athlete) -> None:
        Consent.objects.create(guardian=parent, athlete=ada, kind="mail")
        parent.guardianships.update(may_see=False)
        assert list(Consent.objects.standing()) == []

    def test_are_of_a_known_kind_and_withdrawn_after_they_were_given(
        self, parent: Guardian, ada: Athlete, refused: Refusal
    ) -> None:
        row = {"guardian": parent, "athlete": ada, "given_at": NOON}
        with refused(Consent, "consent_kind_is_known"):
            Consent.objects.bulk_create([Consent(**row, kind="everything")])
        with refused(Consent, "consent_withdrawn_after_given"):
            Consent.objects.bulk_create([Consent(**row, kind="mail", withdrawn_at=NOON - DAY)])


class TestErasure:
    def test_a_child_has_one_open_request(
        self, parent: Guardian, ada: Athlete, refused: Refusal
    ) -> None:
        asked = ErasureRequest.objects.create(athlete=ada, asked_by=parent)
        with refused(ErasureRequest, "one_open_erasure_request"):
            ErasureRequest.objects.bulk_create([ErasureRequest(athlete=ada)])
        ErasureRequest.objects.filter(pk=asked.pk).update(answered_at=NOON, answer="Not yours.")
        ErasureRequest.objects.create(athlete=ada)

    def test_nobody_is_erased_without_an_answer(self, ada: Athlete, refused: Refusal) -> None:
        with refused(ErasureRequest, "erased_only_when_answered"):
            ErasureRequest.objects.bulk_create([ErasureRequest(athlete=ada, erased=True)])


@pytest.mark.parametrize("wrong", [{"text": ""}, {"caution": ""}])
def test_no_idea_for_home_is_without_a_caution(
    small_catalogue: dict[str, Skill], refused: Refusal, wrong: dict[str, str]
) -> None:
    row = {"code": "hop", "text": "Hop on a line.", "caution": "On a soft floor.", **wrong}
    with refused(HomeIdea, "home_idea_has_a_caution"):
        HomeIdea.objects.bulk_create([HomeIdea(skill=small_catalogue["LAND-1"], **row)])


def test_an_idea_for_home_is_shown_only_when_a_lead_marks_it(
    small_catalogue: dict[str, Skill],
) -> None:
    assert not HomeIdea(skill=small_catalogue["LAND-1"], text="Hop.", caution="Softly.").active


def test_a_guardian_gets_one_mail_a_period(parent: Guardian, refused: Refusal) -> None:
    MailSent.objects.create(guardian=parent, period="2026-11")
    with refused(MailSent, "one_mail_a_period"):
        MailSent.objects.bulk_create([MailSent(guardian=parent, period="2026-11")])

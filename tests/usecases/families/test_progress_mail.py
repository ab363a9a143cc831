"""Who gets progress mail, about whom, once a period, and what claiming makes sure of."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, Guardian, MailSent
from progress.usecases.families.consents import give_consent, withdraw_consent
from progress.usecases.families.progress_mail import (
    Claim,
    Period,
    claim_mail,
    claim_state,
    guardians_to_mail,
    mail_for,
    mark_refused,
    mark_sent,
    period_name,
)
from tests import makers
from tests.usecases.families.conftest import NOW


@pytest.fixture
def reader(ada: Athlete, parent: Guardian) -> Guardian:
    """Pat, who said yes to mail about Ada."""
    give_consent(guardian=parent, athlete=ada, kind="mail", version=1, now=NOW)
    return parent


def readers() -> list[int]:
    return guardians_to_mail(as_of=makers.TODAY)


@pytest.mark.parametrize(
    ("period", "day", "name"),
    [
        (Period.MONTH, date(2026, 3, 31), "2026-03"),
        (Period.TERM, date(2026, 1, 1), "2026 term 1"),
        (Period.TERM, date(2026, 4, 30), "2026 term 1"),
        (Period.TERM, date(2026, 5, 1), "2026 term 2"),
        (Period.TERM, date(2026, 12, 31), "2026 term 3"),
    ],
)
def test_periods_have_names(period: Period, day: date, name: str) -> None:
    assert period_name(period, day) == name


def test_only_who_said_yes_is_mailed(reader: Guardian, other_parent: Guardian) -> None:
    assert readers() == [reader.pk]


def test_a_yes_to_something_else_is_no_yes_to_mail(ada: Athlete, parent: Guardian) -> None:
    for kind in ("photo", "name"):
        give_consent(guardian=parent, athlete=ada, kind=kind, version=1, now=NOW)
    assert readers() == []


def test_no_address_no_right_no_mail(reader: Guardian, ada: Athlete) -> None:
    Guardian.objects.filter(pk=reader.pk).update(email="")
    assert readers() == []
    assert mail_for(guardian=reader.pk, as_of=makers.TODAY) is None
    Guardian.objects.filter(pk=reader.pk).update(email="pat@example.org")
    reader.guardianships.update(may_see=False)
    assert readers() == []
    assert mail_for(guardian=reader.pk, as_of=makers.TODAY) is None


@pytest.mark.parametrize("change", [{"left": makers.TODAY}, {"erased_at": NOW}])
def test_a_child_who_left_is_not_written_about(
    reader: Guardian, ada: Athlete, change: dict[str, object]
) -> None:
    Athlete.objects.filter(pk=ada.pk).update(**change)
    assert readers() == []


def test_the_mail_speaks_of_consenting_children_alone(
    other_parent: Guardian, ada: Athlete, bo: Athlete
) -> None:
    give_consent(guardian=other_parent, athlete=bo, kind="mail", version=1, now=NOW)
    mail = mail_for(guardian=other_parent.pk, as_of=makers.TODAY)
    assert mail is not None
    [child] = mail.children
    assert child.name == "Bo"
    assert "Hang for ten seconds" in [str(skill) for skill in child.working_on]


def test_the_family_chooses_the_name(reader: Guardian, ada: Athlete) -> None:
    Athlete.objects.filter(pk=ada.pk).update(shown_as="Lightning")
    mail = mail_for(guardian=reader.pk, as_of=makers.TODAY)
    assert mail is not None
    assert [child.name for child in mail.children] == ["Lightning"]


def test_a_yes_taken_back_during_the_run_is_heeded(reader: Guardian, ada: Athlete) -> None:
    assert readers() == [reader.pk]
    withdraw_consent(guardian=reader, athlete=ada, kind="mail", now=NOW + timedelta(seconds=1))
    assert mail_for(guardian=reader.pk, as_of=makers.TODAY) is None


class TestClaiming:
    def claim(self, reader: Guardian, period: str = "2026-03") -> Claim:
        return claim_mail(guardian=reader.pk, period=period, now=NOW)

    def test_a_mail_is_claimed_once_a_period(self, reader: Guardian) -> None:
        assert self.claim(reader) is Claim.OURS
        assert self.claim(reader) is Claim.UNSURE
        assert self.claim(reader, "2026-04") is Claim.OURS

    def test_what_was_sent_stays_sent(self, reader: Guardian) -> None:
        self.claim(reader)
        mark_sent(guardian=reader.pk, period="2026-03", now=NOW)
        assert self.claim(reader) is Claim.SENT
        assert claim_state(guardian=reader.pk, period="2026-03") is Claim.SENT

    def test_what_was_refused_may_be_tried_again_by_one_run(self, reader: Guardian) -> None:
        self.claim(reader)
        mark_refused(guardian=reader.pk, period="2026-03", why="x" * 500)
        assert len(MailSent.objects.get().failed) == 200
        assert claim_state(guardian=reader.pk, period="2026-03") is Claim.OURS
        assert self.claim(reader) is Claim.OURS
        assert self.claim(reader) is Claim.UNSURE

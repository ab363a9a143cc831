"""Opening a family's page: one tap, the same neutral page for whatever does not open, no traces."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.core.cache import cache
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, FamilyLink, Guardian, StaffMember
from progress.pages.family.opening import MOST_WRONG
from progress.usecases.families.links import LASTS, make_link, revoke_links
from tests import makers

OPEN = "family_open"


@pytest.fixture(autouse=True)
def _nobody_tried_before() -> None:
    cache.clear()


@pytest.fixture
def token(guardian: Guardian, desk: StaffMember, stopped_clock: object) -> str:
    return make_link(guardian=guardian, staff=desk, now=makers.moment()).token


def send(client: Client, token: str) -> HttpResponse:
    return client.post(reverse(OPEN), {"token": token})


class TestTheLink:
    def test_opens_the_page_with_one_tap(self, token: str, monday_class: object) -> None:
        phone = Client()
        assert phone.get(reverse(OPEN)).status_code == 200
        response = phone.post(reverse(OPEN), {"token": token}, follow=True)
        assert "Ada" in response.content.decode()

    def test_a_mail_scanner_that_follows_it_opens_nothing(self, token: str) -> None:
        """The part behind the # stays with the browser; the page without it is the same for all."""
        scanner = Client()
        page = scanner.get(reverse(OPEN))
        assert "Ada" not in page.content.decode()
        assert "family_link" not in scanner.session
        assert FamilyLink.objects.get().opened_at is None
        assert scanner.get(reverse("family_page")).status_code == 302

    def test_begins_a_session_of_its_own(self, token: str, coach_client: Client) -> None:
        send(coach_client, token)
        assert coach_client.get(reverse("class_list")).status_code == 302
        assert coach_client.get(reverse("family_page")).status_code == 200

    def test_an_old_session_key_is_not_kept(self, token: str) -> None:
        phone = Client()
        phone.get(reverse("family_code"))
        send(phone, token)
        before = phone.cookies["sessionid"].value
        send(phone, token)
        assert phone.cookies["sessionid"].value != before

    def test_page_asks_no_third_party_and_sends_no_referrer_abroad(self, token: str) -> None:
        page = Client().get(reverse(OPEN))
        assert page["Referrer-Policy"] == "same-origin"
        assert "no-store" in page["Cache-Control"]
        assert "default-src 'self'" in page["Content-Security-Policy"]

    def test_closing_the_page_leaves_the_link_working(self, token: str) -> None:
        phone = Client()
        send(phone, token)
        phone.post(reverse("family_close"))
        assert phone.get(reverse("family_page")).status_code == 302
        assert send(phone, token).status_code == 302


class TestWhatDoesNotOpen:
    def page(self, token: str) -> tuple[int, str]:
        response = send(Client(), token)
        shown = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", response.content.decode())
        return response.status_code, shown

    def test_is_answered_alike_whatever_is_wrong(
        self, token: str, guardian: Guardian, desk: StaffMember, ada: Athlete
    ) -> None:
        """Tampered, unknown, revoked, run out: no hint which, or whether a child exists."""
        answers = {self.page(wrong) for wrong in ("", "nonsense", token[:-1] + "!")}
        FamilyLink.objects.update(expires_at=makers.moment() - LASTS + timedelta(days=91))
        FamilyLink.objects.update(
            made_at=makers.moment() - 2 * LASTS, expires_at=makers.moment() - LASTS
        )
        answers.add(self.page(token))
        fresh = make_link(guardian=guardian, staff=desk, now=makers.moment()).token
        revoke_links(guardian=guardian, staff=desk, now=makers.moment())
        answers.add(self.page(fresh))
        assert len(answers) == 1
        status, shown = answers.pop()
        assert status == 404
        assert "Ada" not in shown

    def test_an_open_page_ends_when_links_are_closed(
        self, linked_client: Client, guardian: Guardian, desk: StaffMember
    ) -> None:
        assert linked_client.get(reverse("family_page")).status_code == 200
        revoke_links(guardian=guardian, staff=desk, now=makers.moment())
        response = linked_client.get(reverse("family_page"), follow=True)
        assert "was closed to keep it private" in response.content.decode()

    def test_an_open_page_loses_a_child_with_the_right_to_see_it(
        self, linked_client: Client, guardian: Guardian
    ) -> None:
        guardian.guardianships.update(may_see=False)
        assert b"Ada" not in linked_client.get(reverse("family_page")).content
        assert linked_client.get(reverse("child_page", args=["ada"])).status_code == 404


class TestTrying:
    def test_too_many_wrong_ones_from_one_place_are_slowed_and_right_ones_still_open(
        self, token: str
    ) -> None:
        """A whole hall may stand behind one address."""
        answers = [send(Client(), "wrong").status_code for _ in range(MOST_WRONG + 1)]
        assert answers[:-1] == [404] * MOST_WRONG
        assert answers[-1] == 429
        assert send(Client(), token).status_code == 302


class TestCodes:
    def test_a_code_comes_by_mail_and_opens_the_page(
        self, guardian: Guardian, stopped_clock: object
    ) -> None:
        Guardian.objects.update(email="pat@example.org")
        phone = Client()
        phone.post(reverse("family_code"), {"email": "pat@example.org"})
        [sent] = mail.outbox
        code = re.search(r"\b\d{8}\b", sent.body)
        assert code is not None
        assert "Ada" not in sent.subject + sent.body
        entered = {"email": "pat@example.org", "code": code.group()}
        response = phone.post(reverse("family_code_enter"), entered, follow=True)
        assert "Ada" in response.content.decode()

    def test_an_unknown_address_is_answered_like_a_known_one(
        self, guardian: Guardian, stopped_clock: object
    ) -> None:
        Guardian.objects.update(email="pat@example.org")
        pages = []
        for email in ("pat@example.org", "pot@example.org"):
            page = Client().post(reverse("family_code"), {"email": email}).content.decode()
            page = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", page)
            pages.append(page.replace(email, ""))
        assert pages[0] == pages[1]

    def test_a_wrong_code_is_answered_like_a_wrong_link(self, db: None) -> None:
        sent = {"email": "pat@example.org", "code": "12345678"}
        assert Client().post(reverse("family_code_enter"), sent).status_code == 404

    def test_where_mail_cannot_be_sent_the_answer_is_still_the_same(
        self, guardian: Guardian, stopped_clock: object, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refused(*_: object, **__: object) -> None:
            raise ConnectionRefusedError("nobody answers")

        Guardian.objects.update(email="pat@example.org")
        monkeypatch.setattr("progress.pages.family.opening.send_mail", refused)
        response = Client().post(reverse("family_code"), {"email": "pat@example.org"})
        assert response.status_code == 200

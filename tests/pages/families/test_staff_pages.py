"""Staff find a family, make its link to print or mail, close links, and say who may see whom."""

import io
import re

import pytest
import segno
import zxingcpp
from django.core import mail
from django.test import Client
from django.urls import reverse
from PIL import Image

from progress.models import Athlete, Consent, FamilyLink, Guardian
from progress.usecases.families.links import open_link
from tests import makers


@pytest.fixture
def family(guardian: Guardian, cy: Athlete) -> Guardian:
    Guardian.objects.update(email="pat@example.org")
    return guardian


def made(client: Client, guardian: Guardian, how: str = "print") -> str:
    address = reverse("guardian_link", args=[guardian.pk])
    return client.post(address, {"how": how}).content.decode()


def test_a_family_is_found_by_a_guardian_or_a_child(desk_client: Client, family: Guardian) -> None:
    for asked, found in (("guardian of ada", True), ("ADA", True), ("nobody", False)):
        page = desk_client.get(reverse("families"), {"q": asked}).content.decode()
        assert (str(family) in page) is found


def test_a_link_is_shown_once_with_what_to_type(desk_client: Client, family: Guardian) -> None:
    page = made(desk_client, family)
    typed = re.search(r'class="typed-secret">([^<]+)<', page)
    assert typed is not None
    link = open_link(token=typed.group(1), now=makers.moment())
    assert link is not None
    assert link.guardian == family
    assert (
        typed.group(1)
        not in desk_client.get(reverse("guardian_page", args=[family.pk])).content.decode()
    )


def test_the_printed_square_can_be_read_by_a_camera(desk_client: Client, family: Guardian) -> None:
    """Drawn again as pixels, a reader library finds the address that is shown beside it."""
    page = made(desk_client, family)
    shown = re.search(r'id="address" readonly value="([^"]+)"', page)
    assert shown is not None
    assert "<svg" in page
    picture = io.BytesIO()
    segno.make(shown.group(1), error="m", micro=False).save(picture, kind="png", scale=6, border=4)
    [read] = zxingcpp.read_barcodes(Image.open(picture))
    assert read.text == shown.group(1)
    address, _, token = read.text.partition("#")
    assert address == f"http://testserver{reverse('family_open')}"
    assert open_link(token=token, now=makers.moment()) is not None


def test_a_link_goes_by_mail_and_names_no_child(desk_client: Client, family: Guardian) -> None:
    made(desk_client, family, how="mail")
    [sent] = mail.outbox
    assert sent.to == ["pat@example.org"]
    assert "Ada" not in sent.subject + sent.body
    token = sent.body.split("#")[1].split()[0]
    assert open_link(token=token, now=makers.moment()) is not None


def test_all_links_are_closed_at_once(desk_client: Client, family: Guardian) -> None:
    made(desk_client, family)
    desk_client.post(reverse("guardian_revoke", args=[family.pk]))
    assert FamilyLink.objects.open_at(makers.moment()).count() == 0
    page = desk_client.get(reverse("guardian_page", args=[family.pk])).content.decode()
    assert "closed" in page


def test_a_guardian_without_rights_gets_no_link_and_is_told_why(
    desk_client: Client, family: Guardian
) -> None:
    family.guardianships.update(may_see=False)
    address = reverse("guardian_link", args=[family.pk])
    page = desk_client.post(address, {"how": "print"}, follow=True).content.decode()
    assert "a link would open nothing" in page


def test_the_desk_takes_a_right_away_and_a_coach_cannot(
    desk_client: Client, coach_client: Client, family: Guardian
) -> None:
    address = reverse("guardian_right", args=[family.pk, "ada"])
    page = coach_client.post(address, {"may_see": "no"}, follow=True).content.decode()
    assert "Only the lead or the front desk" in page
    assert family.guardianships.get().may_see
    desk_client.post(address, {"may_see": "no"})
    assert not family.guardianships.get().may_see


def test_where_mail_cannot_be_sent_no_link_is_left_behind(
    desk_client: Client, family: Guardian, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise ConnectionRefusedError("nobody answers")

    monkeypatch.setattr("progress.pages.families.views.send_mail", refused)
    address = reverse("guardian_link", args=[family.pk])
    page = desk_client.post(address, {"how": "mail"}, follow=True).content.decode()
    assert "could not be sent" in page
    assert not FamilyLink.objects.exists()


def test_staff_read_which_consents_stand(desk_client: Client, family: Guardian) -> None:
    address = reverse("guardian_page", args=[family.pk])
    assert "nothing" in desk_client.get(address).content.decode()
    [right] = family.guardianships.all()
    Consent.objects.create(guardian=family, athlete=right.athlete, kind="photo")
    Consent.objects.create(guardian=family, athlete=right.athlete, kind="mail", text_version=0)
    page = desk_client.get(address).content.decode()
    assert "Photos and films" in page
    assert "Progress by e-mail" not in page

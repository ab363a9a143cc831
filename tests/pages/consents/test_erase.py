"""Asking for erasure: what goes and what stays is said first, and it can be taken back."""

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, ErasureRequest, Guardian, StaffMember
from progress.usecases.families.erasure_requests import ask_for_erasure, decline_erasure
from tests import makers


def ask(client: Client, **sent: str) -> str:
    return client.post(reverse("child_erase", args=["ada"]), sent, follow=True).content.decode()


@pytest.mark.usefixtures("ada")
def test_it_is_said_in_words_and_asked_only_with_the_box_ticked(guardian_client: Client) -> None:
    page = guardian_client.get(reverse("child_erase", args=["ada"])).content.decode()
    for words in ("What goes", "What stays, with no name", "Download a copy"):
        assert words in page
    assert "tick the box" in ask(guardian_client)
    assert not ErasureRequest.objects.exists()
    assert "We got your request" in ask(guardian_client, sure="yes")
    assert ErasureRequest.objects.get().asked_by == Guardian.objects.get(name="Guardian of Ada")


def test_it_can_be_taken_back_while_it_is_open(linked_client: Client) -> None:
    ask(linked_client, sure="yes")
    assert "You took your request back" in ask(linked_client, do="take-back")
    assert not ErasureRequest.objects.exists()


def test_another_guardians_request_shows_without_their_name_and_stays(
    guardian_client: Client, ada: Athlete
) -> None:
    other = makers.make_guardian([ada], name="Somebody Else")
    ask_for_erasure(athlete=ada, guardian=other, now=makers.moment())
    page = ask(guardian_client, do="take-back")
    assert "A request to erase is open" in page
    assert "Somebody Else" not in page
    assert "Take my request back" not in page
    assert ErasureRequest.objects.count() == 1


def test_a_no_is_read_by_who_asked(
    guardian_client: Client, guardian: Guardian, ada: Athlete, lead: StaffMember
) -> None:
    asked = ask_for_erasure(athlete=ada, guardian=guardian, now=makers.moment())
    decline_erasure(request=asked, lead=lead, sentence="A class is paid for.", now=makers.moment())
    page = guardian_client.get(reverse("child_erase", args=["ada"])).content.decode()
    assert "A class is paid for." in page
    assert "Send the request" in page

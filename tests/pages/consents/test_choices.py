"""A family's choices: one tap for a yes or a no, and how the child's name is shown."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Consent, Guardian
from tests import makers

CHOICES, ANSWER, NAME = "child_choices", "child_consent", "child_name"


def page_of(client: Client, name: str = CHOICES) -> str:
    return client.get(reverse(name, args=["ada"])).content.decode()


def say(client: Client, answer: str, kind: str = "mail", version: str = "1") -> str:
    sent = {"kind": kind, "answer": answer, "version": version}
    address = reverse(ANSWER, args=["ada"])
    return client.post(address, sent, follow=True).content.decode()


@pytest.mark.parametrize("client_name", ["guardian_client", "linked_client"])
def test_every_answer_is_no_until_one_tap_says_yes_and_one_takes_it_back(
    client_name: str, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(client_name)
    page = page_of(client)
    assert page.count("Yes, you may") == 3
    assert "You said yes" not in page

    page = say(client, "yes")
    assert page.count("You said yes") == 1
    assert Consent.objects.get().kind == "mail"

    page = say(client, "no")
    assert "You said yes" not in page
    assert "It holds from now on" in page
    assert "ended on" in page
    assert Consent.objects.get().withdrawn_at is not None


@pytest.mark.parametrize("version", ["", "0", "2", "-1", "x", "١", "9" * 400])
def test_a_yes_to_a_text_that_changed_is_asked_again(guardian_client: Client, version: str) -> None:
    assert "The text has changed" in say(guardian_client, "yes", version=version)
    assert not Consent.objects.exists()


def test_an_unknown_kind_is_nothing(guardian_client: Client) -> None:
    say(guardian_client, "yes", kind="everything")
    say(guardian_client, "no", kind="everything")
    assert not Consent.objects.exists()


def test_an_old_yes_is_shown_as_no_longer_counting(
    guardian_client: Client, guardian: Guardian, ada: Athlete
) -> None:
    Consent.objects.create(guardian=guardian, athlete=ada, kind="photo", text_version=0)
    page = page_of(guardian_client)
    assert "your old yes does not count" in page
    assert page.count("Yes, you may") == 3


def test_the_other_guardians_answers_do_not_show(guardian_client: Client, ada: Athlete) -> None:
    other = makers.make_guardian([ada], name="Somebody Else")
    Consent.objects.create(guardian=other, athlete=ada, kind="mail")
    page = page_of(guardian_client)
    assert "You said yes" not in page
    assert "Somebody Else" not in page


@pytest.mark.parametrize(
    ("sent", "shown"),
    [
        ({"way": "own", "own": "Lightning"}, "Lightning"),
        ({"way": "first"}, "Ada"),
        ({"way": "gym"}, ""),
        ({"way": "own", "own": "<script>alert(1)</script>"}, "<script>alert(1)</script>"),
    ],
)
def test_the_name_is_kept(
    guardian_client: Client, ada: Athlete, sent: dict[str, str], shown: str
) -> None:
    page = guardian_client.post(reverse(NAME, args=["ada"]), sent, follow=True).content.decode()
    ada.refresh_from_db()
    assert ada.shown_as == shown
    assert "The name is changed" in page
    assert "<script>alert" not in page


@pytest.mark.parametrize(("own", "why"), [("  ", "Please type a name"), ("x" * 201, "too long")])
def test_a_name_that_cannot_be_shown_is_refused_beside_its_field(
    guardian_client: Client, ada: Athlete, own: str, why: str
) -> None:
    address = reverse(NAME, args=["ada"])
    response = guardian_client.post(address, {"way": "own", "own": own})
    assert response.status_code == 422
    assert why in response.content.decode()
    assert 'aria-invalid="true"' in response.content.decode()
    ada.refresh_from_db()
    assert ada.shown_as == ""


def test_a_way_that_is_none_changes_nothing(guardian_client: Client, ada: Athlete) -> None:
    guardian_client.post(reverse(NAME, args=["ada"]), {"way": "loud"})
    ada.refresh_from_db()
    assert ada.shown_as == ""


@pytest.mark.parametrize("name", [ANSWER, NAME, "child_erase"])
def test_another_familys_child_takes_nothing(
    outsider_client: Client, linked_outsider_client: Client, ada: Athlete, name: str
) -> None:
    for client in (outsider_client, linked_outsider_client):
        sent = {"kind": "mail", "answer": "yes", "version": "1", "way": "first", "sure": "yes"}
        assert client.post(reverse(name, args=["ada"]), sent).status_code == 404
    assert not Consent.objects.exists()
    assert not ada.erasure_requests.exists()


def test_it_takes_few_queries_however_many_answers_there_are(
    guardian_client: Client, guardian: Guardian, ada: Athlete, django_assert_max_num_queries: Any
) -> None:
    for _ in range(20):
        Consent.objects.create(
            guardian=guardian,
            athlete=ada,
            kind="mail",
            given_at=makers.moment(),
            withdrawn_at=makers.moment(),
        )
    with django_assert_max_num_queries(6):
        page_of(guardian_client)


def test_nothing_of_it_is_kept_by_browsers_or_between(guardian_client: Client) -> None:
    for name in (CHOICES, "child_erase"):
        response = guardian_client.get(reverse(name, args=["ada"]))
        assert "no-store" in response["Cache-Control"]

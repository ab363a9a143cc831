"""Where each visitor lands after signing in."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import makers


@pytest.mark.parametrize(
    ("role", "page"),
    [
        ("coach", "class_list"),
        ("lead", "move_up_list"),
        ("desk", "class_list"),
        ("guardian", "family_page"),
    ],
)
def test_each_visitor_lands_on_the_page_they_come_for(
    role: str, page: str, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")

    assert client.get(reverse("home"))["Location"] == reverse(page)


@pytest.mark.django_db
def test_somebody_without_a_role_is_told_whom_to_ask(client: Client) -> None:
    client.force_login(makers.make_account("newcomer"))

    page = client.get(reverse("home"))

    assert page.status_code == 200
    assert "Ask the programme lead or the front desk" in page.content.decode()
    assert "newcomer" in page.content.decode()


@pytest.mark.django_db
def test_a_coach_with_a_child_here_lands_on_the_classes_and_can_reach_the_family_page(
    client: Client,
) -> None:
    coach = makers.make_staff("jo")
    makers.make_guardian([makers.make_athlete("em")], name="Jo", with_user=False, user=coach.user)
    assert coach.user is not None
    client.force_login(coach.user)

    assert client.get(reverse("home"))["Location"] == reverse("class_list")
    assert reverse("family_page") in client.get(reverse("class_list")).content.decode()


@pytest.mark.django_db
class TestSignIn:
    """The sign-in page itself."""

    def test_a_username_and_a_password_let_a_coach_in(self, client: Client) -> None:
        makers.make_staff("kim")

        response = client.post(
            reverse("account_login"), {"login": "kim", "password": "correct horse battery"}
        )

        assert response.status_code == 302
        assert response["Location"] == reverse("home")

    def test_a_wrong_password_says_so_and_keeps_the_username(self, client: Client) -> None:
        makers.make_staff("kim")

        page = client.post(reverse("account_login"), {"login": "kim", "password": "wrong"})

        assert page.status_code == 200
        assert 'value="kim"' in page.content.decode()
        assert "not correct" in page.content.decode()

    def test_password_stores_can_fill_it_in(self, client: Client) -> None:
        page = client.get(reverse("account_login")).content.decode()

        assert 'autocomplete="username"' in page
        assert 'autocomplete="current-password"' in page
        assert "onpaste" not in page

    def test_nobody_is_asked_to_sign_up(self, client: Client) -> None:
        assert (
            reverse("account_signup") not in client.get(reverse("account_login")).content.decode()
        )

    def test_the_page_asked_for_opens_after_signing_in(self, client: Client) -> None:
        makers.make_staff("kim")
        asked = reverse("class_list")
        sign_in = client.get(asked)["Location"]

        response = client.post(
            sign_in, {"login": "kim", "password": "correct horse battery", "next": asked}
        )

        assert response["Location"] == asked

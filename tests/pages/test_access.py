"""Who gets which page: every page for every kind of visitor, one's own child and another's."""

import re

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, reverse
from pytest_django import Settings

from progress.models import Athlete, ErasureRequest, Guardian, GymClass, Skill, StaffMember
from progress.urls import urlpatterns
from tests import makers
from tests.pages.matrix import (
    FOR_SCRIPTS,
    GONE,
    NOT_SIGNED_IN,
    ON,
    PAGES,
    ROLES,
    SIGN_IN,
    TO_SEND,
    Page,
    address,
)


def fits(response: HttpResponse, answer: object) -> bool:
    """Whether a visitor got what the matrix says."""
    if answer in (SIGN_IN, ON):
        to_sign_in = response.get("Location", "").startswith(reverse("account_login"))
        return response.status_code == 302 and to_sign_in is (answer == SIGN_IN)
    return response.status_code == answer


@pytest.mark.parametrize("page", list(PAGES))
@pytest.mark.usefixtures("monday_class", "cy", "floor")
def test_each_visitor_gets_what_is_theirs_and_nothing_else(
    page: Page, ada: Athlete, small_catalogue: dict[str, Skill], request: pytest.FixtureRequest
) -> None:
    makers.make_attempt(ada, small_catalogue["LAND-1"], uid="a-try")
    makers.make_guardian([ada], pk=1, with_user=False)
    makers.make_sign_off(ada, makers.make_staff(role="lead"), pk=1)
    ErasureRequest.objects.create(pk=1, athlete=ada)

    wrong = []
    for role in ROLES:  # the revoked come last: with their link every other one is closed
        answer = PAGES[page].get(role, SIGN_IN if role in NOT_SIGNED_IN else GONE)
        client: Client = request.getfixturevalue(f"{role}_client")
        response = client.get(address(page))
        if not fits(response, answer):
            wrong.append(f"{role} got {response.status_code}, not {answer}")

    assert wrong == []


NOT_THEIRS = [
    (page, role)
    for page, let_in in PAGES.items()
    for role in ("desk", "guardian", "outsider")
    if TO_SEND in let_in.values() and role not in let_in
]


@pytest.mark.parametrize(("page", "role"), NOT_THEIRS)
@pytest.mark.usefixtures("monday_class")
def test_what_is_not_theirs_takes_nothing_they_send(
    page: Page, role: str, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")

    assert client.post(address(page), {"away": "ada", "kind": "wish"}).status_code == GONE


def test_every_page_of_the_site_map_is_in_the_matrix() -> None:
    named = {pattern.name for pattern in urlpatterns if isinstance(pattern, URLPattern)}

    assert named == {page[0] for page in PAGES} | FOR_SCRIPTS


def test_a_refusal_looks_the_same_for_another_familys_child_and_for_nobody(
    guardian_client: Client, cy: Athlete
) -> None:
    theirs = guardian_client.get(reverse("child_page", args=["cy"]))
    nobodys = guardian_client.get(reverse("child_page", args=["zz"]))

    assert theirs.status_code == nobodys.status_code == 404
    assert without_token(theirs) == without_token(nobodys)


def without_token(response: HttpResponse) -> str:
    """A page but for the token of its sign-out form, which is masked anew each time."""
    return re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", response.content.decode())


def test_a_guardian_sees_nothing_once_the_right_to_see_is_ended(
    guardian_client: Client, guardian: Guardian
) -> None:
    guardian.guardianships.update(may_see=False)

    assert guardian_client.get(reverse("child_page", args=["ada"])).status_code == 404
    assert b"Ada" not in guardian_client.get(reverse("family_page")).content


def test_a_coach_who_has_left_is_let_in_nowhere(coach_client: Client, coach: StaffMember) -> None:
    coach.active = False
    coach.save()

    assert coach_client.get(reverse("class_list")).status_code == 404


def test_the_front_desk_sees_names_and_no_skills(
    desk_client: Client, monday_class: GymClass
) -> None:
    page = desk_client.get(reverse("class_page", args=["monday"])).content.decode()

    assert "Ada" in page
    assert "Bo" in page
    for word in ("Hang for ten seconds", "Ready", "Record checks", "Next tier", "hold"):
        assert word not in page


@pytest.mark.usefixtures("monday_class")
def test_the_front_desk_may_not_send_checks(desk_client: Client) -> None:
    assert desk_client.post(reverse("check_sheet", args=["monday"]), {}).status_code == 404


class TestSecondFactor:
    """What the lead sees and may do before a second sign-in step is set up."""

    @pytest.fixture
    def bare_lead(self, client: Client, db: None) -> Client:
        user = makers.make_staff("lou", role="lead").user
        assert user is not None
        client.force_login(user)
        return client

    def test_a_lead_without_one_is_reminded(self, bare_lead: Client) -> None:
        assert "Add a second sign-in step" in bare_lead.get(reverse("class_list")).content.decode()

    def test_a_lead_with_one_is_left_in_peace(self, lead_client: Client) -> None:
        assert "second sign-in step" not in lead_client.get(reverse("class_list")).content.decode()

    def test_where_it_is_compulsory_the_lead_gets_no_further(
        self, bare_lead: Client, settings: Settings
    ) -> None:
        settings.LEAD_NEEDS_SECOND_FACTOR = True

        for name in ("class_list", "move_up_list"):
            response = bare_lead.get(reverse(name))
            assert response.status_code == 302
            assert response["Location"] == reverse("mfa_index")

    @pytest.mark.usefixtures("ada")
    def test_where_it_is_compulsory_a_child_page_is_closed_to_the_lead_too(
        self, bare_lead: Client, settings: Settings
    ) -> None:
        settings.LEAD_NEEDS_SECOND_FACTOR = True

        response = bare_lead.get(reverse("child_page", args=["ada"]))

        assert response.status_code == 302
        assert response["Location"] == reverse("mfa_index")

    def test_where_it_is_compulsory_coaches_and_equipped_leads_go_on(
        self, lead_client: Client, coach_client: Client, settings: Settings
    ) -> None:
        settings.LEAD_NEEDS_SECOND_FACTOR = True

        assert lead_client.get(reverse("class_list")).status_code == 200
        assert coach_client.get(reverse("class_list")).status_code == 200

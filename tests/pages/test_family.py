"""The family page: own children, plain words, no numbers that rank."""

from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Guardian, Guardianship
from tests import makers


def page_of(client: Client) -> str:
    response = client.get(reverse("family_page"))
    assert response.status_code == 200
    return response.content.decode()


def test_a_guardian_reads_what_their_child_can_do(guardian_client: Client) -> None:
    page = page_of(guardian_client)
    can_do = page.partition("<h2>Can do</h2>")[2].partition("</section>")[0]

    assert "Land still on two feet" in can_do
    assert "Next comes Tier 2" in page


def test_no_other_child_is_on_the_page(guardian_client: Client, bo: Athlete, cy: Athlete) -> None:
    page = page_of(guardian_client)

    assert ">Ada<" in page
    assert ">Bo<" not in page
    assert ">Cy<" not in page


def test_two_children_share_one_page(
    guardian_client: Client, guardian: Guardian, bo: Athlete
) -> None:
    Guardianship.objects.create(guardian=guardian, athlete=bo)
    page = page_of(guardian_client)

    assert page.index(">Ada<") < page.index(">Bo<")


def test_no_percentage_and_no_decision_of_the_engine_is_shown(guardian_client: Client) -> None:
    text = page_of(guardian_client)
    words = text.partition("<main")[2].partition("</main>")[0]
    shown = "".join(part.rpartition(">")[2] for part in words.split("<"))

    assert "%" not in shown
    for word in ("Needs checks", "p_ready", "likely", "Building", "Secure"):
        assert word not in shown


def test_a_hold_is_told_gently_and_without_its_reason(
    guardian_client: Client, ada: Athlete
) -> None:
    makers.make_hold(ada, kind="injury", reason="Sore wrist")
    page = page_of(guardian_client)

    assert "having a rest" in page
    assert "Sore wrist" not in page
    assert "Injury" not in page


def test_a_child_nobody_has_checked_gets_kind_words(outsider_client: Client) -> None:
    page = page_of(outsider_client)

    assert "have not seen enough yet" in page
    assert "has not written anything down yet" in page


def test_a_guardian_without_children_is_told_whom_to_ask(client: Client, db: None) -> None:
    user = makers.make_guardian([]).user
    assert user is not None
    client.force_login(user)

    assert "No child is linked to you yet" in page_of(client)


def test_a_coach_sees_what_the_family_sees(coach_client: Client, ada: Athlete) -> None:
    page = coach_client.get(reverse("child_page", args=["ada"])).content.decode()

    assert "This is what the family sees" in page

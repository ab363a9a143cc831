"""The family page: own children, plain words, no numbers that rank."""

import re
from datetime import timedelta

from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Guardian, Guardianship, HomeIdea, Note, Skill
from tests import makers


def page_of(client: Client) -> str:
    response = client.get(reverse("family_page"))
    assert response.status_code == 200
    return response.content.decode()


def test_a_guardian_reads_what_their_child_can_do(guardian_client: Client) -> None:
    page = page_of(guardian_client)
    can_do = page.partition("Can do</h2>")[2].partition("</section>")[0]

    assert "Land still on two feet" in can_do
    assert "Group now: Tier 1." in page
    assert "Next group: Tier 2." in page


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
    without_data = re.sub(r"<script\b.*?</script>", "", words, flags=re.DOTALL)
    shown = "".join(part.rpartition(">")[2] for part in without_data.split("<"))

    assert "%" not in shown
    for word in ("Needs checks", "p_ready", "likely", "Building", "Secure"):
        assert word not in shown


def test_a_hold_is_told_gently_and_without_its_reason(
    guardian_client: Client, ada: Athlete
) -> None:
    hold = makers.make_hold(ada, kind="injury", reason="Sore wrist")
    page = page_of(guardian_client)

    assert "taking it easy for now; a coach will say when" in page
    assert "Sore wrist" not in page
    assert "Injury" not in page
    assert "On the way to" not in page

    hold.review = makers.TODAY + timedelta(days=4)
    hold.save()
    assert "taking it easy until 6 March 2026" in page_of(guardian_client)


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


def test_nothing_on_the_page_ranks_or_rewards(
    guardian_client: Client, monday_class: object, bo: Athlete
) -> None:
    shown = page_of(guardian_client).lower()

    for word in ("streak", "badge", "points", "stars", "level up", "average", "other children"):
        assert word not in shown


def test_a_note_marked_for_the_family_is_shown_with_its_day_and_escaped(
    guardian_client: Client, ada: Athlete
) -> None:
    values = {"athlete": ada, "written_at": makers.moment(hour=9)}
    Note.objects.create(text="Only for staff.", **values)
    Note.objects.create(text="Waited <b>well</b>.", for_family=True, **values)
    page = page_of(guardian_client)

    assert "Waited &lt;b&gt;well&lt;/b&gt;." in page
    assert "2 March 2026" in page
    assert "Only for staff" not in page


def test_an_idea_for_home_comes_with_its_caution(
    guardian_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    HomeIdea.objects.create(
        code="i", skill=small_catalogue["LAND-2"], text="Try it.", caution="Mind it.", active=True
    )
    page = page_of(guardian_client)

    assert "Try it." in page
    assert "Take care:</strong> Mind it." in page


def test_not_checked_lately_is_said_kindly(
    outsider_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    long_ago = makers.TODAY - timedelta(days=70)
    makers.make_attempt(cy, small_catalogue["LAND-1"], "miss", at=long_ago)
    page = page_of(outsider_client)

    assert "A coach last wrote something down on 22 December 2025." in page
    assert "It does not mean that anything is wrong." in page


def test_the_course_is_told_in_words_beside_its_line(guardian_client: Client) -> None:
    page = page_of(guardian_client)

    assert "So far, coaches have seen 2 skills go well time after time." in page
    assert "At the end of February 2026 it was 2." in page
    assert "<span>28 February 2026</span> <span>2 skills</span>" in page


def test_what_the_next_group_asks_for_is_said_and_its_age(
    outsider_client: Client, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    Athlete.objects.filter(pk=cy.pk).update(birth_date=makers.TODAY - timedelta(days=4 * 365))
    section = page_of(outsider_client).partition("On the way to Tier 2")[2].partition("</section>")

    assert "Land still on two feet" in section[0]
    assert "Hang for ten seconds" in section[0]
    assert "starts at 5 years of age" in section[0]

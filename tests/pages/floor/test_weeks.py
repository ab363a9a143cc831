"""The weeks: what stands, what is planned, what was, and the next week in one tap."""

from datetime import date, timedelta

from django.test import Client
from django.urls import reverse

from progress.models import Setup, Skill, StaffMember
from tests import makers
from tests.usecases.floors.floors import Hall

WEEK = timedelta(weeks=1)
WEEKS = "/floor/"


def codes(cards: object) -> list[int]:
    return [card.setup.pk for card in cards]  # type: ignore[attr-defined]


def test_an_empty_hall_offers_to_start(coach_client: Client) -> None:
    page = coach_client.get(WEEKS).content.decode()

    assert "No setup stands yet." in page
    assert "Start empty" in page


def test_each_setup_is_where_it_belongs(coach_client: Client, today: date) -> None:
    here = makers.make_setup(today)
    draft = makers.make_setup(published=False, planned_for=today + WEEK)
    coming = makers.make_setup(today + 2 * WEEK)
    undated = makers.make_setup()
    past = [makers.make_setup(today - number * WEEK) for number in range(1, 12)]
    replaced = makers.make_setup(published=False, stood_in=today)
    Setup.objects.library()

    context = coach_client.get(WEEKS).context
    weeks = context["weeks"]

    assert weeks.here.setup == here
    assert codes(weeks.drafts) == [draft.pk]
    assert codes(weeks.to_come) == [coming.pk]
    assert codes(weeks.kept) == [undated.pk]
    assert codes(context["past_cards"]) == [replaced.pk, *(one.pk for one in past[:7])]
    second = coach_client.get(WEEKS, {"page": 2}).context["past_cards"]
    assert codes(second) == [one.pk for one in past[7:]]


def test_what_stands_over_from_before_is_said_to(coach_client: Client, today: date) -> None:
    makers.make_setup(today - 3 * WEEK)

    page = coach_client.get(WEEKS).content.decode()

    assert "Nothing is published for this week, so this one stands." in page
    assert page.count("Week of 9 February</a>") == 2  # it stands, and it is past


def test_a_card_says_the_loops_in_words(coach_client: Client, stands: Hall) -> None:
    page = coach_client.get(WEEKS).content.decode()

    assert "<strong>Left</strong>" in page
    assert "Start, Beam, Drop" in page


def test_one_tap_copies_to_the_next_free_week_and_opens_the_draft(
    coach_client: Client, stands: Hall, draft: Hall, today: date
) -> None:
    assert "Copy to week of 16 March" in coach_client.get(WEEKS).content.decode()

    answer = coach_client.post(
        reverse("floor_copy"),
        {"source": stands.setup.pk, "week": (today + 2 * WEEK).isoformat()},
    )

    made = Setup.objects.get(planned_for=today + 2 * WEEK)
    assert answer["Location"] == reverse("floor_setup", args=[made.pk])
    page = coach_client.get(answer["Location"]).content.decode()
    assert "A copy of This round is your draft for the week of 16 March." in page


def test_another_week_is_chosen_from_the_list(
    coach_client: Client, stands: Hall, today: date
) -> None:
    coach_client.post(
        reverse("floor_copy"),
        {
            "source": stands.setup.pk,
            "listed": (today + 4 * WEEK).isoformat(),
            "do": "listed",
        },
    )

    assert Setup.objects.filter(planned_for=today + 4 * WEEK).exists()


def test_a_taken_week_and_no_week_are_refused_in_words(
    coach_client: Client, stands: Hall, today: date
) -> None:
    url = reverse("floor_copy")
    for week, words in (
        (today.isoformat(), "has a published setup already"),
        ("soon", "No week was chosen"),
        ("2026-13-01", "No week was chosen"),
    ):
        coach_client.post(url, {"source": stands.setup.pk, "week": week})
        assert words in coach_client.get(WEEKS).content.decode()
    assert Setup.objects.plans().count() == 1


def test_a_week_starts_empty(coach_client: Client, today: date, coach: StaffMember) -> None:
    coach_client.post(reverse("floor_copy"), {"week": (today + WEEK).isoformat()})

    assert not Setup.objects.get(planned_for=today + WEEK).loops.exists()


def test_a_copy_of_what_is_gone_is_not_there(
    coach_client: Client, today: date, small_catalogue: dict[str, Skill]
) -> None:
    sent = {"source": 999, "week": (today + WEEK).isoformat()}

    assert coach_client.post(reverse("floor_copy"), sent).status_code == 404

"""The page that compares a floor with what children need, and its button for a draft."""

import re

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.models import Area, Setup, Skill
from progress.pages.coverage.tables import Served
from tests import makers

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]


def address(setup: Setup) -> str:
    return reverse("floor_coverage", args=[setup.pk])


def text(response: HttpResponse) -> str:
    words = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(words.replace("&#x27;", "'").split())


@pytest.fixture
def draft(small_catalogue: dict[str, Skill]) -> Setup:
    """A draft with nothing to hang from, and a library with a bar."""
    setup = makers.make_setup(None, published=False, name="Next week")
    land = makers.make_station(setup, "land", name="Landing", variants=[small_catalogue["LAND-1"]])
    makers.make_loop(setup, "A", stations=(land,), name="Round")
    library = Setup.objects.library()
    makers.make_station(library, "bar", name="Bar", variants=[small_catalogue["HANG-1"]])
    return setup


def test_bars_are_said_in_words_as_well() -> None:
    assert [Served(5, n).words for n in (0, 3, 5)] == ["none of 5", "3 of 5", "all 5"]
    assert Served(1, 1).words == "the one child"
    assert Served(4, 1).width == 15.0


def test_it_says_what_is_missing_and_what_would_help(coach_client: Client, draft: Setup) -> None:
    page = text(coach_client.get(address(draft)))

    assert "Hang for ten seconds Hanging, tier 1 1 none of 1 Nowhere on this floor" in page
    assert "In the library: Bar" in page
    assert "Bar instead of Landing" in page
    assert "Main; Round, place 1" in page
    assert "Put it into the draft" in page
    assert "Hanging none of 1" in page


def test_the_button_puts_the_proposal_into_the_draft(coach_client: Client, draft: Setup) -> None:
    page = coach_client.get(address(draft)).content.decode()
    swap = re.search(r'name="swap" value="([\d-]+)"', page)
    assert swap is not None

    response = coach_client.post(address(draft) + "?changes=2", {"swap": swap[1]}, follow=True)

    assert response.redirect_chain == [(address(draft) + "?changes=2", 302)]
    assert "Bar is in the place of Landing, which is put aside." in text(response)
    stops = draft.loops.get().stops.all()
    assert [stop.station.name for stop in stops] == ["Bar"]
    assert "the one child" in text(response)


def test_a_published_floor_has_no_button_and_takes_nothing(
    coach_client: Client, draft: Setup
) -> None:
    Setup.objects.filter(pk=draft.pk).update(published=True)
    page = text(coach_client.get(address(draft)))
    assert "Bar instead of Landing" in page
    assert "This floor is no draft" in page
    assert "Put it into the draft" not in page
    out, into = draft.stations.get(), Setup.objects.library().stations.get()

    sent = {"swap": f"{out.pk}-{into.pk}-{Area.objects.get().pk}"}
    response = coach_client.post(address(draft), sent, follow=True)

    assert "is published, so it cannot be changed here" in text(response)
    assert [stop.station.name for stop in draft.loops.get().stops.all()] == ["Landing"]


@pytest.mark.parametrize("swap", ["", "1-2", "1-2-x", "-1-2-3", "1-2-3-4", "9" * 30 + "-1-1"])
def test_what_is_no_swap_changes_nothing(coach_client: Client, draft: Setup, swap: str) -> None:
    response = coach_client.post(address(draft), {"swap": swap}, follow=True)

    assert "That was no swap" in text(response)
    assert draft.stations.count() == 1


def test_classes_stations_to_keep_and_the_number_of_changes_are_asked_for(
    coach_client: Client, draft: Setup
) -> None:
    land = draft.stations.get()

    response = coach_client.get(
        address(draft), {"asked": "1", "class": "monday", "stay": land.pk, "changes": "3"}
    )

    page = text(response)
    assert "1 of 1 class, up to 3 changes, 1 to stay" in page
    assert "What the coach wants to stay keeps a better floor away." in page
    assert "Bar instead of Landing" not in page


@pytest.mark.parametrize(
    "query", ["asked=1", "changes=99&stay=x", "changes=&class=no", "asked=1&stay=-1&changes=-2"]
)
def test_odd_addresses_are_answered_all_the_same(
    coach_client: Client, draft: Setup, query: str
) -> None:
    assert coach_client.get(f"{address(draft)}?{query}").status_code == 200


def test_an_empty_floor_is_said_to_be_empty(coach_client: Client) -> None:
    page = text(coach_client.get(address(makers.make_setup(None, published=False))))

    assert "No stations stand on this floor yet" in page
    assert "Put it into the draft" not in page


def test_the_library_has_no_coverage(coach_client: Client) -> None:
    assert coach_client.get(address(Setup.objects.library())).status_code == 404


@pytest.mark.parametrize("role", ["desk", "guardian", "outsider"])
def test_others_put_nothing_into_a_draft(
    draft: Setup, role: str, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")

    assert client.post(address(draft), {"swap": "1-2-3"}).status_code == 404

"""The builder's page: one press is one change, it says what happened, and it can be undone."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Setup, Skill
from tests import makers
from tests.pages.test_every_page import (
    check_ids_are_given_once,
    check_nothing_inline_or_from_elsewhere,
    check_one_can_find_ones_way,
    check_policy,
)
from tests.usecases.floors.floors import Hall, order_of

WEEK = timedelta(weeks=1)


def press(client: Client, hall: Hall, **values: Any) -> HttpResponse:
    """Press a button of a stop and look at where that leads."""
    return client.post(reverse("floor_stops", args=[hall.setup.pk]), values)


def words(client: Client, hall: Hall) -> str:
    return client.get(reverse("floor_setup", args=[hall.setup.pk])).content.decode()


def stop(hall: Hall, name: str = "beam") -> dict[str, int]:
    return {"loop": hall.left.pk, "station": getattr(hall, name).pk}


@pytest.mark.usefixtures("library", "stands")
@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("floor_weeks", ()),
        ("floor_setup", ("draft",)),
        ("floor_setup", ("stands",)),
        ("floor_throw_away", ("draft",)),
        ("floor_pick", ("draft", "loop")),
        ("floor_library", ()),
        ("floor_station", ("beam",)),
        ("floor_variant_new", ("beam",)),
        ("floor_variant", ("beam", "variant")),
    ],
)
def test_a_page_keeps_the_rules_of_the_house(
    name: str, args: tuple[str, ...], draft: Hall, stands: Hall, coach_client: Client
) -> None:
    keys = {
        "draft": draft.setup.pk,
        "stands": stands.setup.pk,
        "loop": draft.left.pk,
        "beam": draft.beam.pk,
        "variant": draft.beam.variants.get().pk,
    }
    answer = coach_client.get(reverse(name, args=[keys[one] for one in args]))
    page = answer.content.decode()

    check_policy(answer["Content-Security-Policy"])
    check_nothing_inline_or_from_elsewhere(page)
    check_one_can_find_ones_way(page)
    check_ids_are_given_once(page)


class TestButtonsOfAStop:
    @pytest.mark.parametrize(
        ("values", "order", "anchor"),
        [
            ({"do": "up"}, ["beam", "start", "drop"], "up-{loop}-{station}"),
            ({"do": "down"}, ["start", "drop", "beam"], "down-{loop}-{station}"),
            ({"do": "out"}, ["start", "drop"], "loop-{loop}"),
            ({"do": "place", "place": 1}, ["beam", "start", "drop"], "stop-{loop}-{station}"),
        ],
    )
    def test_the_page_stays_where_it_was(
        self,
        draft: Hall,
        coach_client: Client,
        values: dict[str, Any],
        order: list[str],
        anchor: str,
    ) -> None:
        answer = press(coach_client, draft, **stop(draft), **values)

        assert order_of(draft.left) == order
        place = anchor.format(**stop(draft))
        assert answer["Location"] == f"/floor/{draft.setup.pk}/#{place}"
        assert f'id="{place}"' in words(coach_client, draft)

    def test_a_station_goes_to_the_loop_it_is_dropped_on(
        self, draft: Hall, coach_client: Client
    ) -> None:
        values = {"do": "place", "to_loop": draft.right.pk, "place": 1}
        press(coach_client, draft, **stop(draft), **values)

        assert order_of(draft.right) == ["beam", "start", "rope"]

    def test_it_says_what_happened_and_undo_brings_it_back(
        self, draft: Hall, coach_client: Client
    ) -> None:
        press(coach_client, draft, **stop(draft), do="out")
        page = words(coach_client, draft)
        assert "Beam is taken out of Left." in page
        assert "Undo" in page

        coach_client.post(reverse("floor_undo"), {"setup": draft.setup.pk})

        assert order_of(draft.left) == ["start", "beam", "drop"]
        page = words(coach_client, draft)
        assert "Beam is back on Left." in page
        assert "Undo" not in page

    def test_undo_is_still_offered_on_a_later_look(self, draft: Hall, coach_client: Client) -> None:
        press(coach_client, draft, **stop(draft), do="out")
        words(coach_client, draft)

        assert "Last change: Beam is taken out of Left." in words(coach_client, draft)

    def test_undo_is_not_for_another_setup(
        self, draft: Hall, stands: Hall, coach_client: Client
    ) -> None:
        press(coach_client, draft, **stop(draft), do="out")

        coach_client.post(reverse("floor_undo"), {"setup": stands.setup.pk})

        assert order_of(draft.left) == ["start", "drop"]

    @pytest.mark.parametrize("sent", [{}, {"loop": "x"}, {"loop": "9" * 30, "station": "-1"}])
    def test_nonsense_changes_nothing_and_is_answered_in_words(
        self, draft: Hall, coach_client: Client, sent: dict[str, str]
    ) -> None:
        answer = press(coach_client, draft, do="up", **sent)

        assert answer.status_code == 302
        assert "no longer in the setup" in words(coach_client, draft)

    def test_a_shared_station_says_with_whom(self, draft: Hall, coach_client: Client) -> None:
        page = words(coach_client, draft)

        assert page.count("Shared with Right") == 1
        assert page.count("Shared with Left") == 1


class TestLoops:
    def test_a_loop_is_added_filled_and_removed(
        self, draft: Hall, library: Setup, coach_client: Client
    ) -> None:
        number = draft.setup.pk
        area = {"area": draft.left.area_id}
        coach_client.post(reverse("floor_loops", args=[number]), {"name": "Far", **area})
        far = draft.setup.loops.get(name="Far")
        assert "Far</a>: It has no station." in words(coach_client, draft)

        net = library.stations.get(code="net")
        pick = reverse("floor_pick", args=[number, far.pk])
        coach_client.post(pick, {"design": net.pk})
        coach_client.post(pick, {"station": draft.beam.pk})
        assert order_of(far) == ["net", "beam"]
        coach_client.post(pick, {"station": draft.drop.pk, "swap": draft.beam.pk})
        assert order_of(far) == ["net", "drop"]

        loop = reverse("floor_loop", args=[number, far.pk])
        coach_client.post(loop, {"do": "remove"})
        assert "Far is removed." in words(coach_client, draft)
        assert not draft.setup.loops.filter(name="Far").exists()

    def test_a_nameless_loop_is_refused_in_words(self, draft: Hall, coach_client: Client) -> None:
        url = reverse("floor_loops", args=[draft.setup.pk])
        coach_client.post(url, {"name": " ", "area": draft.left.area_id})

        assert "The loop has no name." in words(coach_client, draft)

    def test_the_library_is_searched_by_name_and_skill(
        self, draft: Hall, library: Setup, coach_client: Client
    ) -> None:
        pick = reverse("floor_pick", args=[draft.setup.pk, draft.left.pk])

        def found(**asked: str) -> set[str]:
            rows = coach_client.get(pick, asked).context["rows"]
            return {row.station.code for row in rows}

        assert found() == {"net", "box"}
        assert found(words="nEt") == {"net"}
        assert found(words="ten seconds") == {"net"}
        assert found(skill="LAND-2") == {"box"}
        assert found(words="net", skill="LAND-2") == set()

    def test_a_new_station_leads_to_its_page(self, draft: Hall, coach_client: Client) -> None:
        pick = reverse("floor_pick", args=[draft.setup.pk, draft.left.pk])
        answer = coach_client.post(pick, {"name": "Rings"})

        rings = draft.setup.stations.get(name="Rings")
        assert answer["Location"] == reverse("floor_station", args=[rings.pk])
        assert "Rings on Left</a>: It has no variant." in words(coach_client, draft)


@pytest.mark.usefixtures("library")
def test_a_full_hall_asks_the_database_no_more_than_a_small_one(
    draft: Hall, coach_client: Client, small_catalogue: dict[str, Skill]
) -> None:
    pages = [
        reverse("floor_weeks"),
        reverse("floor_setup", args=[draft.setup.pk]),
        reverse("floor_pick", args=[draft.setup.pk, draft.left.pk]),
        reverse("floor_library"),
    ]

    def questions() -> list[int]:
        counts = []
        for page in pages:
            with CaptureQueriesContext(connection) as asked:
                assert coach_client.get(page).status_code == 200
            counts.append(len(asked))
        return counts

    past = makers.make_setup(makers.TODAY - 9 * WEEK)
    makers.make_loop(past, stations=[makers.make_station(past)])
    questions()
    few = questions()
    for number in range(3):
        setup = makers.make_setup(makers.TODAY - (number + 1) * WEEK)
        for hall in (draft.setup, setup, Setup.objects.library()):
            skills = [small_catalogue["LAND-1"]] * 3
            many = [makers.make_station(hall, variants=skills) for _ in range(8)]
            if not hall.library:
                makers.make_loop(hall, f"more-{number}", stations=many)

    assert questions() == few
    assert few == [11, 10, 11, 7]

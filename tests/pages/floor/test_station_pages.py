"""The pages of a station and its variants: in a setup and in the library."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Equipment, Setup, Station
from tests.usecases.floors.floors import Hall

VARIANT = {
    "name": "Knee high",
    "step": "1",
    "skill": "LAND-2",
    "change": "height",
    "height_m": "0.5",
    "lanes": "2",
    "seconds": "15",
    "spotter": "on",
}


def station_page(station: Station) -> str:
    return reverse("floor_station", args=[station.pk])


def facts(station: Station, **values: str) -> dict[str, str]:
    """What the form sends for a station as it is, with these changes."""
    return {"name": station.name, "kind": station.kind, "mat": station.mat, **values}


class TestTheStation:
    def test_its_facts_are_kept_and_the_page_goes_back_to_its_place(
        self, draft: Hall, coach_client: Client
    ) -> None:
        bench = Equipment.objects.create(code="bench", name="Bench", count=4)
        sent = facts(
            draft.beam,
            name="Wide beam",
            mat_rated_m="1.5",
            way_down="yes",
            **{f"equipment-{bench.pk}": "2"},
        )

        answer = coach_client.post(station_page(draft.beam), sent)

        kept = Station.objects.get(pk=draft.beam.pk)
        assert (kept.name, kept.mat_rated_m, kept.way_down) == ("Wide beam", 1.5, True)
        assert kept.equipment_links.get().count == 2
        assert answer["Location"].endswith(f"#stop-{draft.left.pk}-{kept.pk}")
        assert "Wide beam is kept." in coach_client.get(answer["Location"]).content.decode()

    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            ({"name": " "}, "Give the station a short name."),
            ({"clear_m": "-1"}, "clear landing floor must be above 0"),
            ({"clear_m": "wide"}, "Write a number, such as 0.4."),
            ({"kind": "slide"}, "Select a valid choice"),
        ],
    )
    def test_a_mistake_is_shown_at_its_field_and_nothing_is_stored(
        self, draft: Hall, coach_client: Client, wrong: dict[str, str], words: str
    ) -> None:
        sent = facts(draft.beam) | {"mat": "firm"} | wrong
        answer = coach_client.post(station_page(draft.beam), sent)

        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert Station.objects.get(pk=draft.beam.pk).mat == "unknown"

    def test_a_shared_station_says_that_a_change_is_for_all(
        self, draft: Hall, coach_client: Client
    ) -> None:
        page = coach_client.get(station_page(draft.start)).content.decode()

        assert "one station that these loops share" in page

    def test_one_on_a_published_floor_is_read_only_and_may_be_kept(
        self, stands: Hall, coach_client: Client
    ) -> None:
        page = coach_client.get(station_page(stands.beam)).content.decode()
        assert "can be read here and not changed" in page
        assert "Keep station" not in page

        answer = coach_client.post(station_page(stands.beam), facts(stands.beam, name="Other"))
        assert answer.status_code == 422
        assert Station.objects.get(pk=stands.beam.pk).name == "Beam"

        coach_client.post(reverse("floor_station_keep", args=[stands.beam.pk]))
        assert Setup.objects.library().stations.filter(code="beam").exists()


class TestVariants:
    def test_one_is_added(self, draft: Hall, coach_client: Client) -> None:
        answer = coach_client.post(reverse("floor_variant_new", args=[draft.beam.pk]), VARIANT)

        made = draft.beam.variants.get(step=1)
        assert (made.height_m, made.lanes, made.spotter, made.skill.code) == (
            0.5,
            2,
            True,
            "LAND-2",
        )
        assert answer["Location"].endswith("#variants")

    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            ({"step": "0"}, "is on step 0 already"),
            ({"height_m": "11"}, "feet height must be from 0 to 10 metres"),
            ({"height_m": "nan"}, "Write a number"),
            ({"skill": "FLY-1"}, "This skill is not in the catalogue."),
            ({"skill": ""}, "Choose the skill it practises."),
            ({"name": ""}, "Say in a few words how it is set up."),
            ({"lanes": "0"}, "at least 1 lane"),
            ({"lanes": "2.5"}, "Write a whole number"),
            ({"places": "99999999999999999999"}, "number of places must be"),
        ],
    )
    def test_a_mistake_is_shown_at_its_field(
        self, draft: Hall, coach_client: Client, wrong: dict[str, Any], words: str
    ) -> None:
        url = reverse("floor_variant_new", args=[draft.beam.pk])
        answer = coach_client.post(url, VARIANT | wrong)

        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert next(iter(wrong)) in answer.context["form"].errors
        assert draft.beam.variants.count() == 1

    def test_one_is_removed_and_undo_brings_it_back(
        self, draft: Hall, coach_client: Client
    ) -> None:
        variant = draft.beam.variants.get()
        url = reverse("floor_variant", args=[draft.beam.pk, variant.pk])

        coach_client.post(url, {"do": "remove"})
        assert not draft.beam.variants.exists()
        page = coach_client.get(station_page(draft.beam)).content.decode()
        assert "is removed from Beam." in page

        coach_client.post(reverse("floor_undo"), {"setup": draft.setup.pk})
        assert draft.beam.variants.get().code == variant.code

    def test_a_variant_of_another_station_is_not_there(
        self, draft: Hall, coach_client: Client
    ) -> None:
        other = draft.drop.variants.get()

        answer = coach_client.get(reverse("floor_variant", args=[draft.beam.pk, other.pk]))

        assert answer.status_code == 404


class TestTheLibrary:
    def test_a_new_station_is_added_changed_and_removed(
        self, library: Setup, coach_client: Client
    ) -> None:
        coach_client.post(reverse("floor_library"), {"name": "Low wall"})
        wall = library.stations.get(name="Low wall")

        coach_client.post(reverse("floor_variant_new", args=[wall.pk]), VARIANT)
        answer = coach_client.post(station_page(wall), facts(wall, kind="wall"))
        assert answer["Location"].startswith(reverse("floor_library"))
        assert library.stations.get(pk=wall.pk).kind == "wall"

        coach_client.post(reverse("floor_station_remove", args=[wall.pk]))
        assert not library.stations.filter(name="Low wall").exists()
        coach_client.post(reverse("floor_undo"), {"setup": library.pk})
        assert library.stations.get(name="Low wall").variants.count() == 1

    def test_an_empty_one_says_what_to_do(self, coach_client: Client) -> None:
        page = coach_client.get(reverse("floor_library")).content.decode()

        assert "The library is empty." in page

    def test_a_change_there_alters_no_week(
        self, library: Setup, draft: Hall, coach_client: Client
    ) -> None:
        net = library.stations.get(code="net")
        pick = reverse("floor_pick", args=[draft.setup.pk, draft.left.pk])
        coach_client.post(pick, {"design": net.pk})

        coach_client.post(station_page(net), facts(net, name="Wide net"))

        assert draft.setup.stations.get(code="net").name == "Net"

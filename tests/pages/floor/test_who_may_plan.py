"""Every page of the floor for every kind of visitor, and what others send changes nothing."""

from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, reverse

from progress.models import LoopStop, Setup, Station, Variant
from progress.urls import urlpatterns
from tests.usecases.floors.floors import Hall

PLAN, SIGN_IN = ("coach", "lead"), ("anonymous", "linked", "revoked")
OTHERS = ("desk", "guardian", "outsider")
ONLY_SENT = {
    *("floor_copy", "floor_undo", "floor_publish", "floor_name", "floor_loops", "floor_loop"),
    *("floor_stops", "floor_station_keep", "floor_station_remove"),
}


def pages() -> Iterator[str]:
    """Names of the pages of this room, from the site map."""
    for pattern in urlpatterns:
        if isinstance(pattern, URLPattern):
            module = getattr(pattern.callback, "__module__", "")
            if module.startswith("progress.pages.floor."):
                yield str(pattern.name)


def address(name: str, hall: Hall) -> str:
    """The page of something that is there."""
    variant = hall.beam.variants.get()
    if name in {"floor_weeks", "floor_copy", "floor_undo", "floor_library"}:
        return reverse(name)
    if name in {"floor_loop", "floor_pick"}:
        return reverse(name, args=[hall.setup.pk, hall.left.pk])
    if name == "floor_variant":
        return reverse(name, args=[hall.beam.pk, variant.pk])
    if name.startswith(("floor_station", "floor_variant")):
        return reverse(name, args=[hall.beam.pk])
    return reverse(name, args=[hall.setup.pk])


def everything() -> list[object]:
    """What a page of the floor could change."""
    return [
        list(model._default_manager.order_by("pk").values())
        for model in (Setup, Station, Variant, LoopStop)
    ]


def test_the_site_map_has_the_pages_this_is_about() -> None:
    assert len(set(pages())) == 17
    assert set(pages()) > ONLY_SENT


@pytest.mark.parametrize("name", list(pages()))
@pytest.mark.parametrize("role", [*PLAN, *OTHERS, *SIGN_IN])
def test_coaches_and_the_lead_plan_and_nobody_else_sees_that_there_is_a_floor(
    role: str, name: str, draft: Hall, library: Setup, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")
    before = everything()

    seen = client.get(address(name, draft))
    if role in PLAN:
        assert seen.status_code == (405 if name in ONLY_SENT else 200)
        return
    sent = client.post(
        address(name, draft), {"do": "out", "loop": draft.left.pk, "station": draft.beam.pk}
    )

    for answer in (seen, sent):
        if role in SIGN_IN:
            assert answer.status_code == 302
            assert answer["Location"].startswith(reverse("account_login"))
        else:
            assert answer.status_code == 404
    assert everything() == before


@pytest.mark.parametrize(("role", "shown"), [("coach", True), ("lead", True), ("desk", False)])
def test_the_menu_leads_those_who_plan_to_the_floor(
    role: str, shown: bool, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")

    page = client.get(reverse("class_list")).content.decode()

    assert ('href="/floor/"' in page) is shown


def test_the_library_is_no_setup_to_open(coach_client: Client, library: Setup) -> None:
    for name in ("floor_setup", "floor_throw_away"):
        assert coach_client.get(reverse(name, args=[library.pk])).status_code == 404

"""Moving children with taps: what the page says afterwards, undo, and reasons."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, PlanChoice, Setup, StaffMember, Variant
from tests import makers
from tests.pages.plans.reading import cell_of, page_of, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class", "floor")]


def tap(client: Client, athlete: str, station: str, to: str, **sent: str) -> str:
    """Tap a button; the page it leads back to."""
    values = {"tap": f"athlete={athlete}&station={station}&to={to}".replace("+", "%2B"), **sent}
    response = client.post(reverse("plan_move", args=["monday"]), values)
    assert response.status_code == 302
    assert response["Location"].endswith("#moved")
    return client.get(response["Location"]).content.decode()


def said(page: str) -> str:
    """The words at the place of the move."""
    return text_of("<main>" + page.partition('id="moved"')[2].partition("</div></td>")[0])


def press(client: Client, page: str, where: str, **values: str) -> str:
    """Send the form of the notice that goes to ``where``."""
    form = re.search(rf'action="{reverse(where, args=["monday"])}".*?</form>', page, re.DOTALL)
    assert form
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form.group()))
    response = client.post(reverse(where, args=["monday"]), {**hidden, **values})
    return client.get(response["Location"]).content.decode()


def test_a_tap_moves_a_child_and_the_page_says_so_at_the_same_place(
    coach_client: Client, coach: StaffMember
) -> None:
    page = tap(coach_client, "bo", "jump", "code:jump-1")

    assert "Bo at Jump down: easier (jump-1)." in said(page)
    assert "Nothing changes for anybody else." in said(page)
    assert page.index(", Jump down: ") < page.index('id="moved"')
    cell = cell_of(page, "Bo", "Jump down")
    assert cell.startswith("jump-1 easier, ")
    assert "by hand, Kim" in cell
    assert 'id="moved"' not in page_of(coach_client)


def test_the_others_who_move_are_named(coach_client: Client) -> None:
    Variant.objects.filter(code="jump+0").update(places=1)
    Variant.objects.filter(code="jump+1").update(places=0)
    tap(coach_client, "ada", "jump", "code:jump+0")

    page = tap(coach_client, "ada", "jump", "code:jump-1")

    assert "Bo moves to base (jump+0) at Jump down" in said(page)


def test_leaving_out_the_loop_and_the_engines_own_are_said(
    coach_client: Client, floor: Setup
) -> None:
    makers.make_loop(floor, "second", order=1, stations=floor.stations.all())

    assert "Bo leaves Bars out." in said(tap(coach_client, "bo", "bars", "code:"))
    assert "Left out" in cell_of(page_of(coach_client), "Bo", "Bars")
    assert "Bo starts on Second." in said(tap(coach_client, "bo", "", "code:second"))
    assert "Bo at Bars: left to the engine again." in said(
        tap(coach_client, "bo", "bars", "engine")
    )


def test_undo_and_a_reason_in_one_tap(coach_client: Client) -> None:
    page = tap(coach_client, "bo", "jump", "code:jump-1")
    page = press(coach_client, page, "plan_reason", reason="Tired today")
    assert "the reason is written down" in said(page)
    assert "by hand, Kim: Tired today" in cell_of(page, "Bo", "Jump down")

    page = tap(coach_client, "bo", "jump", "code:jump+0")
    page = press(coach_client, page, "plan_undo")

    assert "Bo: taken back, as it was before." in said(page)
    assert "jump-1" in cell_of(page, "Bo", "Jump down")
    assert PlanChoice.objects.standing().get().reason == "Tired today"


def test_a_reason_in_ones_own_words_may_not_be_too_long(coach_client: Client) -> None:
    page = tap(coach_client, "bo", "jump", "code:jump-1")
    page = press(coach_client, page, "plan_reason", words="x" * 201)

    assert "That reason is too long" in said(page)
    assert PlanChoice.objects.standing().get().reason == ""


def test_what_is_barred_is_refused_at_the_same_place(coach_client: Client, bo: Athlete) -> None:
    page = tap(coach_client, "bo", "bars", "code:bars+1")

    assert "Not changed. Bo, bars+1: not yet: needs Hang for ten seconds" in said(page)
    assert "Undo" not in said(page)
    assert not PlanChoice.objects.exists()


def test_an_undo_after_somebody_elses_change_is_refused(
    coach_client: Client, lead_client: Client
) -> None:
    page = tap(coach_client, "bo", "jump", "code:jump-1")
    tap(lead_client, "bo", "jump", "code:jump+0")

    page = press(coach_client, page, "plan_undo")

    assert "Somebody has changed this since" in said(page)
    assert cell_of(page, "Bo", "Jump down").startswith("jump+0")


def test_a_choice_that_a_hold_came_between_is_shown_as_not_followed(
    coach_client: Client, bo: Athlete
) -> None:
    tap(coach_client, "bo", "jump", "code:jump-1")
    makers.make_hold(bo, ladders=[makers.make_ladder("landing")])

    cell = cell_of(page_of(coach_client), "Bo", "Jump down")

    assert "Chosen by hand by Kim, but not followed: jump-1" in cell
    assert "this ladder is on hold: ask the lead" in cell


def test_the_day_and_the_stage_are_kept(coach_client: Client, floor: Setup) -> None:
    Setup.objects.update(week=None)
    makers.make_loop(floor, "second", order=1, stations=floor.stations.all())

    page = tap(coach_client, "bo", "jump", "code:jump-1", day="2026-03-09", after="1")

    assert "Monday 9 March" in text_of(page)
    assert 'name="after" value="1"' in page
    assert "Bo at Jump down" in said(page)


def test_taps_that_no_button_sends_are_not_found(coach_client: Client) -> None:
    address = reverse("plan_move", args=["monday"])
    for sent in ("", "athlete=", "athlete=nobody&to=engine"):
        assert coach_client.post(address, {"tap": sent}).status_code == 404

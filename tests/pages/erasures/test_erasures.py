"""The lead's room for erasures: what waits, what would go, completing and declining."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from progress.models import Athlete, ErasureRequest, Guardian
from progress.usecases.families.erasure_requests import ask_for_erasure
from tests import makers


@pytest.fixture(autouse=True)
def _data_folder(tmp_path: Path, settings: Settings) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def asked(ada: Athlete, guardian: Guardian, stopped_clock: datetime) -> ErasureRequest:
    return ask_for_erasure(athlete=ada, guardian=guardian, now=stopped_clock)


def answer(client: Client, asked: ErasureRequest, **sent: str) -> str:
    address = reverse("erasure_answer", args=[asked.pk])
    return client.post(address, sent, follow=True).content.decode()


def test_what_waits_is_listed_with_who_asked(lead_client: Client, asked: ErasureRequest) -> None:
    page = lead_client.get(reverse("erasures")).content.decode()
    assert "Ada" in page
    assert "Guardian of Ada" in page


def test_the_preview_counts_and_changes_nothing(lead_client: Client, asked: ErasureRequest) -> None:
    page = lead_client.get(reverse("erasure_page", args=[asked.pk])).content.decode()
    assert "16 attempts" in page
    assert "1 guardian with no other child here" in page
    assert Athlete.objects.filter(code="ada", name="Ada").exists()


def test_it_is_completed_only_with_the_box_ticked(
    lead_client: Client, asked: ErasureRequest
) -> None:
    assert "Tick the box first" in answer(lead_client, asked, do="erase")
    assert Athlete.objects.filter(name="Ada").exists()
    page = answer(lead_client, asked, do="erase", sure="yes")
    erased = Athlete.objects.get(pk=asked.athlete_id)
    assert erased.code in page
    assert "Ada" not in page
    assert "open no more" in answer(lead_client, asked, do="erase", sure="yes")


def test_the_familys_link_then_leads_to_the_page_for_whatever_does_not_open(
    lead_client: Client, linked_client: Client, asked: ErasureRequest
) -> None:
    assert linked_client.get(reverse("child_choices", args=["ada"])).status_code == 200
    answer(lead_client, asked, do="erase", sure="yes")
    response = linked_client.get(reverse("family_page"), follow=True)
    assert response.redirect_chain[-1][0] == reverse("family_open")
    nobody = Client().get(reverse("family_open"))
    assert response.status_code == nobody.status_code == 200
    assert "Ada" not in response.content.decode()


def test_a_signed_in_guardian_is_signed_out_for_good(
    lead_client: Client, guardian_client: Client, asked: ErasureRequest
) -> None:
    answer(lead_client, asked, do="erase", sure="yes")
    response = guardian_client.get(reverse("family_page"))
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("account_login"))


def test_declining_needs_a_sentence(lead_client: Client, asked: ErasureRequest) -> None:
    assert "Write a sentence" in answer(lead_client, asked, do="decline", sentence=" ")
    page = answer(lead_client, asked, do="decline", sentence="A class is paid for.")
    assert "A class is paid for." in page
    asked.refresh_from_db()
    assert not asked.erased
    assert asked.answered_at is not None


def test_where_the_list_cannot_be_written_it_says_so_and_nothing_is_erased(
    lead_client: Client, asked: ErasureRequest, settings: Settings, tmp_path: Path
) -> None:
    settings.DATA_DIR = tmp_path / "not-there"
    assert "Nothing was erased" in answer(lead_client, asked, do="erase", sure="yes")
    assert Athlete.objects.filter(name="Ada").exists()


def test_a_request_that_came_by_word_is_opened_by_code(lead_client: Client, cy: Athlete) -> None:
    address = reverse("erasures")
    assert (
        "No child has this code"
        in lead_client.post(address, {"code": "zz"}, follow=True).content.decode()
    )
    page = lead_client.post(address, {"code": "cy"}, follow=True).content.decode()
    assert "Erase everything about Cy?" in page
    assert ErasureRequest.objects.get().asked_by is None


@pytest.mark.parametrize("role", ["coach", "desk", "guardian"])
def test_nobody_else_may_answer(
    role: str, asked: ErasureRequest, request: pytest.FixtureRequest
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")
    address = reverse("erasure_answer", args=[asked.pk])
    assert client.post(address, {"do": "erase", "sure": "yes"}).status_code == 404
    assert client.post(reverse("erasures"), {"code": "ada"}).status_code == 404
    assert Athlete.objects.filter(name="Ada").exists()


def test_the_list_takes_as_many_queries_for_one_as_for_twenty(
    lead_client: Client, asked: ErasureRequest, django_assert_num_queries: Callable[..., Any]
) -> None:
    lead_client.get(reverse("erasures"))
    for count in (1, 20):
        for _ in range(count - 1):
            child = makers.make_athlete()
            parent = makers.make_guardian([child], with_user=False)
            ask_for_erasure(athlete=child, guardian=parent, now=makers.moment())
        with django_assert_num_queries(4):
            lead_client.get(reverse("erasures"))

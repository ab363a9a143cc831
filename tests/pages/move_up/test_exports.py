"""The board as a file: what was asked for, in the order shown, safe to open."""

import csv
import io
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from progress.models import Athlete, GymClass
from tests import makers
from tests.makers_of_standings import make_standing
from tests.pages.move_up.reading import link_to, page_of

pytestmark = pytest.mark.usefixtures("as_stored")

COLUMNS = [
    *("code", "name", "class", "age", "tier", "next_tier", "decision", "chance", "holding_back"),
    *("holding_back_names", "why", "last_checked", "days_since", "on_hold", "as_of"),
]


def file_of(client: Client, query: str) -> HttpResponse:
    return client.get(f"{reverse('move_up_list')}?{query}")


def csv_rows(client: Client, query: str = "_export=csv") -> list[dict[str, str]]:
    text = file_of(client, query).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def xlsx_rows(client: Client, query: str = "_export=xlsx") -> list[list[Any]]:
    sheet = load_workbook(io.BytesIO(file_of(client, query).content)).active
    assert sheet is not None
    return [list(row) for row in sheet.iter_rows()]


@pytest.fixture
def bo_held(monday_class: GymClass) -> Athlete:
    """Bo with one skill that holds back, and on hold."""
    bo = Athlete.objects.get(code="bo")
    makers.make_hold(bo)
    make_standing(
        bo,
        p_ready=0.123456,
        holding_back=["HANG-1", "LAND-1"],
        last_checked=makers.TODAY.replace(day=1),
        reasons=["on hold: ask the lead", "0 of 2 skills secure", "held back by Hang"],
    )
    return bo


@pytest.mark.usefixtures("bo_held")
def test_every_column_says_one_plain_thing(lead_client: Client) -> None:
    (row,) = csv_rows(lead_client, "_export=csv&words=bo")

    assert list(row) == COLUMNS
    assert list(row.values()) == [
        *("bo", "Bo", "Monday class", "8", "1", "2", "Building", "0.1235", "HANG-1 LAND-1"),
        "Hang for ten seconds; Land still on two feet",
        *("0 of 2 skills secure", "2026-03-01", "1", "yes", "2026-03-02"),
    ]


@pytest.mark.usefixtures("bo_held")
def test_what_is_not_known_is_an_empty_cell(lead_client: Client) -> None:
    (row,) = csv_rows(lead_client, "_export=csv&words=ada")

    assert row["decision"] == "Not worked out yet"
    assert {row[name] for name in ("chance", "why", "last_checked", "days_since", "as_of")} == {""}


@pytest.mark.usefixtures("bo_held")
def test_the_workbook_says_the_same_with_numbers_as_numbers(lead_client: Client) -> None:
    header, row = xlsx_rows(lead_client, "_export=xlsx&words=bo")

    assert [cell.value for cell in header] == COLUMNS
    said = dict(zip(COLUMNS, (cell.value for cell in row), strict=True))
    assert (said["age"], said["tier"], said["chance"]) == (8, 1, 0.1235)
    assert [str(value) for value in said.values()] == list(
        csv_rows(lead_client, "_export=csv&words=bo")[0].values()
    )


def test_the_top_tier_has_no_decision(lead_client: Client) -> None:
    make_standing(makers.make_athlete("top", tier=2), "ready", holding_back=["LAND-2"])

    (row,) = csv_rows(lead_client)
    assert row["decision"] == "In the highest tier"
    assert (row["chance"], row["holding_back"], row["next_tier"]) == ("", "", "")


class TestAllThatWasAskedFor:
    @pytest.fixture(autouse=True)
    def _many(self, as_stored: None, db: None) -> None:
        for n in range(60):
            decision = "nearly" if n % 2 else "building"
            make_standing(makers.make_athlete(f"m-{n:02d}"), decision, p_ready=n / 100)

    def test_all_pages_in_the_order_shown(self, lead_client: Client) -> None:
        page = page_of(lead_client, "?decision=nearly&sort=-readiness&page=1")
        rows = csv_rows(lead_client, link_to(page, "As a CSV file")[1:])

        assert [row["code"] for row in rows] == [f"m-{n:02d}" for n in range(1, 60, 2)]

    def test_both_files_have_the_same_rows(self, lead_client: Client) -> None:
        page = page_of(lead_client, "?sort=-name&page=2")
        rows = csv_rows(lead_client, link_to(page, "As a CSV file")[1:])
        sheet = xlsx_rows(lead_client, link_to(page, "As an Excel file")[1:])

        assert len(rows) == 60
        assert [row["code"] for row in rows] == [row[0].value for row in sheet[1:]]


class TestOpeningIt:
    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t="])
    def test_no_cell_is_run_by_a_spreadsheet(self, lead_client: Client, start: str) -> None:
        makers.make_athlete("x", name=f"{start}1+1")

        assert csv_rows(lead_client)[0]["name"] == f"'{start}1+1".replace("\t", "")
        cell = xlsx_rows(lead_client)[1][1]
        assert (cell.data_type, cell.value) == ("s", f"{start}1+1")

    def test_letters_of_every_language_come_through(self, lead_client: Client) -> None:
        makers.make_athlete("x", name="Žofie Ó Sé, 凛")

        assert file_of(lead_client, "_export=csv").content.startswith(b"\xef\xbb\xbf")
        assert csv_rows(lead_client)[0]["name"] == "Žofie Ó Sé, 凛"
        assert xlsx_rows(lead_client)[1][1].value == "Žofie Ó Sé, 凛"

    def test_a_letter_no_workbook_can_hold_is_left_out(self, lead_client: Client) -> None:
        makers.make_athlete("x", name="A\x07da")

        assert xlsx_rows(lead_client)[1][1].value == "Ada"

    @pytest.mark.parametrize(
        ("kind", "content"),
        [
            ("csv", "text/csv; charset=utf-8"),
            ("xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        ],
    )
    def test_its_name_has_the_day_and_nothing_keeps_it(
        self, lead_client: Client, kind: str, content: str
    ) -> None:
        response = file_of(lead_client, f"_export={kind}")

        assert response["Content-Type"] == content
        assert response["Content-Disposition"] == f'attachment; filename="board-2026-03-02.{kind}"'
        assert "no-store" in response["Cache-Control"]

    def test_other_kinds_are_not_made(self, lead_client: Client, ada: Athlete) -> None:
        assert file_of(lead_client, "_export=json")["Content-Type"].startswith("text/html")

    def test_a_coach_gets_no_file(self, coach_client: Client) -> None:
        assert file_of(coach_client, "_export=csv").status_code == 404

    def test_beside_it_stands_that_it_is_personal_data(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        assert "children’s personal data" in page_of(lead_client)

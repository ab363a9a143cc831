"""The download: one JSON or a ZIP of tables, streamed, never cached, harmless in a spreadsheet."""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Note, Skill
from progress.pages.consents.download import ROWS_AT_ONCE, json_pieces, zip_pieces
from progress.usecases.families.export_child import KEYS, ChildExport, Row
from tests import makers


def fetched(client: Client, kind: str) -> HttpResponse:
    return client.get(reverse("child_download", args=["ada"]), {"as": kind})


def body(response: Any) -> bytes:
    return b"".join(response.streaming_content)


@pytest.fixture
def ada_with_note(ada: Athlete) -> Athlete:
    Note.objects.create(athlete=ada, text='=HYPERLINK("x")', for_family=True)
    ada.shown_as = "Ädä ÷ 王小明"
    ada.save()
    return ada


@pytest.mark.parametrize("client_name", ["guardian_client", "linked_client"])
def test_the_json_holds_every_table_and_says_what_its_keys_mean(
    client_name: str, ada_with_note: Athlete, request: pytest.FixtureRequest
) -> None:
    response = fetched(request.getfixturevalue(client_name), "json")
    told = json.loads(body(response).decode("utf-8"))
    assert told["keys"] == KEYS
    assert set(KEYS) < set(told)
    assert told["made_on"] == "2026-03-02"
    assert told["child"][0]["shown_as"] == "Ädä ÷ 王小明"
    assert told["child"][0]["birth_date"] == "2018-02-01"
    assert len(told["attempts"]) == 16
    assert {one["result_in_words"] for one in told["attempts"]} == {"Clean"}


def test_the_zip_holds_a_table_a_file_and_no_formula_runs(
    guardian_client: Client, ada_with_note: Athlete
) -> None:
    response = fetched(guardian_client, "zip")
    folder = zipfile.ZipFile(io.BytesIO(body(response)))
    assert folder.testzip() is None
    assert sorted(folder.namelist()) == sorted(["READ-ME.txt", *(f"{one}.csv" for one in KEYS)])
    for name, columns in KEYS.items():
        rows = list(csv.reader(io.StringIO(folder.read(f"{name}.csv").decode("utf-8"))))
        assert rows[0] == list(columns)
        assert {len(row) for row in rows} == {len(columns)}
    notes = folder.read("notes.csv").decode()
    assert "\"'=HYPERLINK" in notes
    assert "result_in_words" in folder.read("READ-ME.txt").decode()
    attempts = list(csv.DictReader(io.StringIO(folder.read("attempts.csv").decode())))
    assert len(attempts) == 16
    assert {one["counts"] for one in attempts} == {"yes"}


def test_it_is_a_file_that_nobody_caches_and_whose_name_names_nobody(
    guardian_client: Client, ada: Athlete
) -> None:
    response = fetched(guardian_client, "zip")
    assert "no-store" in response["Cache-Control"]
    assert response["Content-Disposition"] == 'attachment; filename="ada-2026-03-02.zip"'
    assert response.streaming


def test_words_are_in_the_familys_language_even_while_it_streams(
    guardian_client: Client, ada: Athlete, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The words are looked up while the language is set, not when the last row is sent."""
    asked: list[str] = []
    monkeypatch.setattr(
        "progress.usecases.families.export_child._", lambda word: asked.append(word) or f"~{word}"
    )
    response = fetched(guardian_client, "json")
    assert sorted(asked) == ["Clean", "Not yet", "With help"]
    assert '"~Clean"' in body(response).decode()


def many(rows: int, read: list[int]) -> ChildExport:
    def attempts() -> Iterator[Row]:
        for number in range(rows):
            read.append(number)
            yield dict.fromkeys(KEYS["attempts"], f"row {number}")

    tables: dict[str, list[Row]] = {name: [] for name in KEYS if name != "attempts"}
    return ChildExport(date(2026, 3, 2), tables, attempts(), KEYS)


@pytest.mark.parametrize("pieces_of", [json_pieces, zip_pieces])
@pytest.mark.parametrize("rows", [0, 1, ROWS_AT_ONCE, 3 * ROWS_AT_ONCE + 1])
def test_a_long_log_is_sent_while_it_is_read(pieces_of: Any, rows: int) -> None:
    read: list[int] = []
    whole, most_ahead = b"", 0
    for piece in pieces_of(many(rows, read)):
        whole += piece
        most_ahead = max(most_ahead, len(read) - ahead_of(read, piece))
    assert len(read) == rows
    if pieces_of is json_pieces:
        assert len(json.loads(whole)["attempts"]) == rows
    else:
        table = zipfile.ZipFile(io.BytesIO(whole)).read("attempts.csv").decode()
        assert table.count("\r\n") == rows + 1
    assert most_ahead <= ROWS_AT_ONCE


_seen: dict[int, int] = {}


def ahead_of(read: list[int], piece: bytes) -> int:
    """How many rows had been read when the piece before this one was sent."""
    before = _seen.get(id(read), 0)
    _seen[id(read)] = len(read)
    return before


def test_the_page_of_numbers_counts_corrected_tries_too(
    guardian_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    wrong = makers.make_attempt(ada, small_catalogue["HANG-1"], "miss", uid="wrong")
    makers.make_correction(wrong)
    told = json.loads(body(fetched(guardian_client, "json")))
    by_id = {one["id"]: one for one in told["attempts"]}
    assert by_id["wrong"]["counts"] is False
    assert [one["taken_back"] for one in told["attempts"]].count(True) == 1
    assert len(by_id) == 18

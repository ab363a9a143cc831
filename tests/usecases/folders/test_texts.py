"""Text survives its way through a cell, and no cell runs as a formula."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from progress.usecases.folders.texts import escaped, joined, pieces_of, tidied, unescaped

ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]))
FORMULA_LIKE = st.text(st.sampled_from("'=+-@＝ a|\n"))


@pytest.mark.parametrize("start", "=+-@＝＋－＠")
def test_nothing_that_runs_in_a_spreadsheet_stands_first(start: str) -> None:
    assert escaped(f"{start}cmd").startswith("'")


def test_ordinary_text_is_left_as_it_is() -> None:
    assert escaped("'Tis Ann-Marie = fine") == "'Tis Ann-Marie = fine"


@given(ANY_TEXT | FORMULA_LIKE)
def test_escaping_is_undone_exactly(text: str) -> None:
    assert unescaped(escaped(text)) == text


@given(ANY_TEXT | FORMULA_LIKE)
def test_tidying_twice_is_tidying_once(text: str) -> None:
    assert tidied(tidied(text)) == tidied(text)


def test_one_kind_of_line_end_remains() -> None:
    assert tidied(" a\r\nb\rc\n ") == "a\nb\nc"


def test_pieces_are_separated_by_a_bar_between_spaces() -> None:
    assert pieces_of("knees bend | feet stay|still |  | arms") == (
        "knees bend",
        "feet stay|still",
        "arms",
    )


@given(FORMULA_LIKE)
def test_joining_pieces_again_gives_the_same_cell(cell: str) -> None:
    once = joined(list(pieces_of(cell)))
    assert joined(list(pieces_of(once))) == once

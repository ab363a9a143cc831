"""What spreadsheets do to a file: it is read all the same, or refused with the way out."""

from pathlib import Path

import pytest

from progress.models import Athlete, Attempt, Skill
from tests.usecases.folders.samples import ATHLETES, SKILLS, VALID, load, problems_of, table

pytestmark = pytest.mark.django_db

HEADER = "athlete,tier,name"


def athlete_names(folder: Path, content: str | bytes) -> dict[str, str]:
    """Load athletes.csv alone; names by code."""
    load(folder, {"athletes.csv": content})
    return dict(Athlete.objects.values_list("code", "name"))


def test_columns_may_come_in_any_order(tmp_path: Path) -> None:
    assert athlete_names(tmp_path, "name,athlete,tier\nAnn,ann,1\n") == {"ann": "Ann"}


@pytest.mark.parametrize("heading", ["Birth date", " BIRTH_DATE ", "birth-date", "birthdate"])
def test_headings_may_differ_in_capitals_and_spacing(tmp_path: Path, heading: str) -> None:
    load(tmp_path, {"athletes.csv": f"athlete,tier,{heading}\nann,1,2018-02-01\n"})
    assert Athlete.objects.get().birth_date is not None


@pytest.mark.parametrize(
    "data",
    [
        f"{HEADER}\nann,1,Zoë\n".encode("utf-8-sig"),
        f"{HEADER}\r\nann,1,Zoë\r\n".encode(),
        f"{HEADER}\rann,1,Zoë\r".encode(),
        f"{HEADER}\nann,1,Zoë".encode(),
        f"{HEADER}\nann,1,Zoë\n".encode("utf-16"),
        f"{HEADER}\nann,1,Zoë\n".replace(",", "\t").encode("utf-16"),
        f"{HEADER}\nann,1,Zoë\n".encode("utf-32"),
        f"{HEADER}\nann,1,Zoë\n".replace(",", ";").encode(),
        f"{HEADER}\nann,1,Zoë\n".replace(",", "\t").encode(),
        f"sep=;\n{HEADER}\nann,1,Zoë\n".replace(",", ";").encode("utf-8-sig"),
        f"\n\n{HEADER}\n\n,,\n  ann , 1 ,\u00a0Zoë \n\n".encode(),
        f'{HEADER}\n"ann", "1", "Zoë"\n'.encode(),
        f"{HEADER},,\nann,1,Zoë,,\n".encode(),
        f";;\n{HEADER}\nann,1,Zoë\n".replace(",", ";").encode(),
    ],
    ids=[
        "byte order mark",
        "windows line ends",
        "old mac line ends",
        "no end of line at the end",
        "utf-16",
        "utf-16 with tabs",
        "utf-32",
        "semicolons",
        "tabs",
        "separator named first",
        "blank lines and spaces",
        "quoted throughout",
        "empty columns at the right",
        "an empty row above the header",
    ],
)
def test_the_forms_spreadsheets_save_are_read(tmp_path: Path, data: bytes) -> None:
    assert athlete_names(tmp_path, data) == {"ann": "Zoë"}


def test_a_line_break_inside_a_cell_is_kept(tmp_path: Path) -> None:
    content = 'athlete,tier,name\r\nann,1,"Ann\r\nMarie"\r\n'
    assert athlete_names(tmp_path, content) == {"ann": "Ann\nMarie"}


def test_lines_are_counted_through_cells_that_span_several(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": f'{HEADER}\nann,1,"A\n\nB"\nben,x,Ben\n'})
    assert problem.line == 5


def test_lines_are_counted_from_the_top_of_the_file(tmp_path: Path) -> None:
    content = f"sep=,\n\n{HEADER}\n\nann,x,Ann\n"
    (problem,) = problems_of(tmp_path, {"athletes.csv": content})
    assert problem.line == 5


def test_a_row_may_lack_empty_cells_at_its_end(tmp_path: Path) -> None:
    assert athlete_names(tmp_path, f"{HEADER},joined\nann,1\n") == {"ann": ""}


def test_a_row_that_lacks_a_needed_cell_is_refused(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": f"{HEADER}\nann\n"})
    assert (problem.line, problem.column) == (2, "tier")


def test_a_row_with_more_cells_than_headings_is_refused(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": f"{HEADER}\nann,1,Ann, Marie\n"})
    assert problem.line == 2
    assert "4 cells, the header has 3" in problem.what


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": b"\xef\xbb\xbf \r\n"})
    assert problem.what == "is empty."


def test_a_header_alone_is_a_file_without_rows(tmp_path: Path) -> None:
    assert athlete_names(tmp_path, HEADER) == {}


def test_an_unknown_column_is_remarked_on_and_left_out(tmp_path: Path) -> None:
    remarks = load(tmp_path, {"athletes.csv": "athlete,tier,shirt\nann,1,red\n"}).remarks
    assert any("'shirt'" in remark for remark in remarks)


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        (f"{HEADER}\nann,1,Ann\nben,1,Zo".encode() + b"\xeb\n", 3, "byte EB"),
        (f"{HEADER}\rann,1,Ann\rben,1,Zo".encode() + b"\xeb\r", 3, "byte EB"),
        (f"{HEADER}\nann,1,A\0nn\n".encode(), 2, "NUL"),
        (f"{HEADER}\nann,1,Ann\n".encode("utf-16-le"), 1, "NUL"),
        (f"{HEADER}\nann,1,Ann\n".encode("utf-16")[:-1], None, "UTF-16"),
        (f'{HEADER}\nann,1,"Ann\nben,1,Ben\n'.encode(), 2, "never closed"),
        (f'{HEADER}\nann,1,"Ann" Lee\n'.encode(), 2, "closes before"),
        (f'{HEADER}\nann,1,"{"x" * 200_000}\n'.encode(), 2, "goes on for pages"),
        (b"x" * 200_000, 1, "goes on for pages"),
    ],
)
def test_what_cannot_be_read_is_named_by_line(
    tmp_path: Path, data: bytes, line: int | None, words: str
) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": data})
    assert problem.line == line
    assert words in problem.what


def test_older_windows_text_still_gets_its_other_problems_listed(tmp_path: Path) -> None:
    data = f"{HEADER}\nzoe,1,Zo".encode() + b"\xeb\nben,two,Ben\n"
    problems = problems_of(tmp_path, {"athletes.csv": data})
    assert [(problem.line, problem.column) for problem in problems] == [(2, None), (3, "tier")]


def test_a_decimal_comma_counts_where_cells_are_separated_by_semicolons(tmp_path: Path) -> None:
    load(tmp_path, {"skills.csv": "skill;ladder;tier;standard\nland;landing;1;0,85\n"})
    assert Skill.objects.get().standard == 0.85


@pytest.mark.parametrize("separator", [",", "\t"])
def test_a_decimal_comma_is_refused_elsewhere(tmp_path: Path, separator: str) -> None:
    content = 'skill,ladder,tier,standard\nland,landing,1,"0|85"\n'
    content = content.replace(",", separator).replace("|", ",")
    (problem,) = problems_of(tmp_path, {"skills.csv": content})
    assert (problem.line, problem.column) == (2, "standard")
    assert "decimal comma" in problem.what


@pytest.mark.parametrize("words", [("TRUE", "FALSE"), ("Yes", "No"), ("1", "0"), ("y", "n")])
def test_yes_and_no_may_be_written_in_many_ways(tmp_path: Path, words: tuple[str, str]) -> None:
    row = f"land,landing,1,{words[1]},{words[0]}"
    load(tmp_path, {"skills.csv": table("skill,ladder,tier,required,gate", row)})
    assert (Skill.objects.get().required, Skill.objects.get().gate) == (False, True)


@pytest.mark.parametrize("word", ["clean", "Clean", "CLEAN"])
def test_results_may_be_written_in_capitals(tmp_path: Path, word: str) -> None:
    attempts = table("athlete,skill,at,result", f"ann,land-1,2026-02-23,{word}")
    load(tmp_path, VALID | {"attempts.csv": attempts})
    assert Attempt.objects.get().result == "clean"


def test_whole_numbers_may_come_with_a_decimal_nought(tmp_path: Path) -> None:
    load(tmp_path, {"athletes.csv": "athlete,tier\nann,2.0\n"})
    assert Athlete.objects.get().tier_id == 2


def test_file_names_may_be_in_capitals(tmp_path: Path) -> None:
    assert load(tmp_path, {"Athletes.CSV": ATHLETES}).files["athletes.csv"].new == 2


def test_text_escaped_against_formulas_is_stored_as_it_was(tmp_path: Path) -> None:
    assert athlete_names(tmp_path, f"{HEADER}\nann,1,'=1+1\n") == {"ann": "=1+1"}


def test_text_that_looks_like_a_formula_is_stored_as_given(tmp_path: Path) -> None:
    assert athlete_names(tmp_path, f"{HEADER}\nann,1,=1+1\n") == {"ann": "=1+1"}


def test_an_emptied_needs_cell_takes_the_needs_away(tmp_path: Path) -> None:
    load(tmp_path, {"skills.csv": SKILLS})
    load(tmp_path, {"skills.csv": SKILLS.replace("hang-1 land-1", "")})
    assert not Skill.objects.get(code="hang-2").needs.exists()


def test_a_file_without_the_needs_column_leaves_the_needs(tmp_path: Path) -> None:
    load(tmp_path, {"skills.csv": SKILLS})
    load(tmp_path, {"skills.csv": "skill,ladder,tier\nhang-2,hanging,2\n"})
    assert Skill.objects.get(code="hang-2").needs.count() == 2

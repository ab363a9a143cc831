"""Every kind of mistake is named by file, line and column, and nothing is stored."""

from pathlib import Path

import pytest

from tests.usecases.folders.samples import (
    ATHLETES,
    ATTEMPTS,
    SKILLS,
    VALID,
    load_valid,
    problems_of,
    table,
)

pytestmark = pytest.mark.django_db

A_SKILL = "skill,ladder,tier,required,gate,standard,needs,name,look_for"
AN_ATHLETE = "athlete,tier,birth_date,joined,class,name"
AN_ATTEMPT = "athlete,skill,at,result,variant,id,note,coach"
TRY = "ann,land-1,2026-02-20,clean"
LONG = "x" * 501

CELLS = [
    # skills.csv
    ("skills.csv", A_SKILL, ",landing,1", 2, "skill"),
    ("skills.csv", A_SKILL, "land,,1", 2, "ladder"),
    ("skills.csv", A_SKILL, "land,landing,", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,0", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,-1", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,1.5", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,two", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,99999", 2, "tier"),
    ("skills.csv", A_SKILL, "land,landing,1,perhaps", 2, "required"),
    ("skills.csv", A_SKILL, "land,landing,1,yes,maybe", 2, "gate"),
    ("skills.csv", A_SKILL, "land,landing,1,,,0", 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,1", 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,80", 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,80%", 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,nan", 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,inf", 2, "standard"),
    ("skills.csv", A_SKILL, 'land,landing,1,,,"0,8"', 2, "standard"),
    ("skills.csv", A_SKILL, "land,landing,1,,,,nowhere", 2, "needs"),
    ("skills.csv", A_SKILL, "land,landing,1,,,,land", 2, "needs"),
    ("skills.csv", A_SKILL, f"land,landing,1,,,,,{LONG}", 2, "name"),
    ("skills.csv", A_SKILL, f"land,landing,1,,,,,,short | {LONG}", 2, "look_for"),
    ("skills.csv", A_SKILL, "wall run,landing,1", 2, "skill"),
    ("skills.csv", A_SKILL, "wall\u200brun,landing,1", 2, "skill"),
    ("skills.csv", A_SKILL, '"wall\nrun",landing,1', 2, "skill"),
    ("skills.csv", A_SKILL, f"{'x' * 41},landing,1", 2, "skill"),
    ("skills.csv", A_SKILL, "land,landing,1\nland,landing,2", 3, "skill"),
    ("skills.csv", A_SKILL, "land,landing,1,,,,,a,b,surplus", 2, None),
    # athletes.csv
    ("athletes.csv", AN_ATHLETE, ",1", 2, "athlete"),
    ("athletes.csv", AN_ATHLETE, "cat,0", 2, "tier"),
    ("athletes.csv", AN_ATHLETE, "cat,1,2018-02-30", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,03/04/2018", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,25.12.2018", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,43191", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,1018-02-03", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,2026-03-03", 2, "birth_date"),
    ("athletes.csv", AN_ATHLETE, "cat,1,,Easter", 2, "joined"),
    ("athletes.csv", AN_ATHLETE, "cat,1,2018-02-01,2018-01-31", 2, "joined"),
    ("athletes.csv", AN_ATHLETE, f"cat,1,,,{'x' * 41}", 2, "class"),
    ("athletes.csv", AN_ATHLETE, f"cat,1,,,,{LONG}", 2, "name"),
    ("athletes.csv", AN_ATHLETE, "cat,1\ndan,1\ncat,1", 4, "athlete"),
    # attempts.csv
    ("attempts.csv", AN_ATTEMPT, "nobody,land-1,2026-02-20,clean", 2, "athlete"),
    ("attempts.csv", AN_ATTEMPT, ",land-1,2026-02-20,clean", 2, "athlete"),
    ("attempts.csv", AN_ATTEMPT, "ann,flying,2026-02-20,clean", 2, "skill"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,yesterday,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,03/04/2026 17:30,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-02-20T25:00,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-02-20T12:00+25:00,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-W09,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2025-03-30T01:30,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-03-02T18:01:00Z,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-03-03,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2018-01-31,clean", 2, "at"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-02-20,", 2, "result"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-02-20,cleen", 2, "result"),
    ("attempts.csv", AN_ATTEMPT, "ann,land-1,2026-02-20,2", 2, "result"),
    ("attempts.csv", AN_ATTEMPT, f"{TRY},middling", 2, "variant"),
    ("attempts.csv", AN_ATTEMPT, f"{TRY},,{'x' * 65}", 2, "id"),
    ("attempts.csv", AN_ATTEMPT, f"{TRY},,one\n{TRY},,two\n{TRY},,one", 4, "id"),
    ("attempts.csv", AN_ATTEMPT, f"{TRY},,,{LONG}", 2, "note"),
    ("attempts.csv", AN_ATTEMPT, f"{TRY},,,,{'x' * 41}", 2, "coach"),
]


@pytest.mark.parametrize(("file", "header", "rows", "line", "column"), CELLS)
def test_a_cell_that_does_not_fit_is_named(
    tmp_path: Path, file: str, header: str, rows: str, line: int, column: str | None
) -> None:
    files = {"skills.csv": SKILLS, "athletes.csv": ATHLETES} if file == "attempts.csv" else {}
    (problem,) = problems_of(tmp_path, files | {file: table(header, rows)})
    assert (problem.file, problem.line, problem.column) == (file, line, column)


@pytest.mark.parametrize(("file", "content"), VALID.items())
def test_a_missing_column_is_named(tmp_path: Path, file: str, content: str) -> None:
    header, *rows = content.splitlines()
    first = header.split(",")[0]
    without = [line.partition(",")[2] for line in (header, *rows)]
    problems = problems_of(tmp_path, VALID | {file: table(*without)})
    assert [(problem.file, problem.line, problem.column) for problem in problems] == [
        (file, 1, first)
    ]


@pytest.mark.parametrize("file", VALID)
def test_a_column_that_comes_twice_is_named(tmp_path: Path, file: str) -> None:
    header, *rows = VALID[file].splitlines()
    first = header.split(",")[0]
    twice = [f"{header},{first.upper()}", *(f"{row},x" for row in rows)]
    problems = problems_of(tmp_path, VALID | {file: table(*twice)})
    assert [(problem.file, problem.line, problem.column) for problem in problems] == [
        (file, 1, first)
    ]


def test_a_mistyped_code_gets_the_nearest_known_one(tmp_path: Path) -> None:
    files = VALID | {"attempts.csv": ATTEMPTS.replace("hang-2", "Hang-2")}
    (problem,) = problems_of(tmp_path, files)
    assert "did you mean 'hang-2'?" in problem.what


def test_a_missing_column_that_is_nearly_there_is_pointed_at(tmp_path: Path) -> None:
    files = VALID | {"attempts.csv": ATTEMPTS.replace("result", "results")}
    (problem,) = problems_of(tmp_path, files)
    assert "'results' is there" in problem.what


def test_a_date_with_two_readings_is_not_guessed(tmp_path: Path) -> None:
    files = VALID | {"attempts.csv": ATTEMPTS.replace("2026-02-24", "03/04/2026")}
    (problem,) = problems_of(tmp_path, files)
    assert "two different days" in problem.what
    assert "2026-04-03" in problem.mend


def test_a_circle_of_needs_is_named_with_its_lines(tmp_path: Path) -> None:
    rows = ("a,hanging,1,c", "b,hanging,1,a", "x,hanging,1,", "c,hanging,1,b")
    skills = table("skill,ladder,tier,needs", *rows)
    (problem,) = problems_of(tmp_path, {"skills.csv": skills})
    assert (problem.line, problem.column) == (2, "needs")
    assert (
        "a > c > b > a" in problem.what
        or "c > b > a > c" in problem.what
        or ("b > a > c > b" in problem.what)
    )
    assert "lines 2, 3, 5" in problem.what


def test_every_circle_of_needs_is_named(tmp_path: Path) -> None:
    rows = ("a,hanging,1,b", "b,hanging,1,a", "c,hanging,1,d", "d,hanging,1,c")
    skills = table("skill,ladder,tier,needs", *rows)
    assert [problem.line for problem in problems_of(tmp_path, {"skills.csv": skills})] == [2, 4]


def test_a_circle_may_run_through_stored_skills(tmp_path: Path) -> None:
    load_valid(tmp_path / "stored")
    skills = table("skill,ladder,tier,needs", "hang-1,hanging,1,hang-2")
    (problem,) = problems_of(tmp_path, {"skills.csv": skills})
    assert (problem.line, problem.column) == (2, "needs")


def test_a_birth_date_after_a_stored_attempt_is_refused(tmp_path: Path) -> None:
    load_valid(tmp_path / "stored")
    athletes = ATHLETES.replace("2018-02-01", "2026-02-28")
    problems = problems_of(tmp_path, {"athletes.csv": athletes})
    assert {(problem.line, problem.column) for problem in problems} >= {(2, "birth_date")}


@pytest.mark.parametrize(
    ("column", "before", "after"),
    [
        ("athlete", "ann,hang-1", "ben,hang-1"),
        ("skill", "ann,hang-1", "ann,hang-2"),
        ("at", "16:45", "16:46"),
        ("result", "miss", "clean"),
        ("coach", "miss,kim", "miss,pat"),
        ("variant", "kim,,try-2", "kim,still,try-2"),
        ("note", "slipped", "jumped"),
    ],
)
def test_an_id_stored_with_something_else_is_refused(
    tmp_path: Path, column: str, before: str, after: str
) -> None:
    load_valid(tmp_path / "stored")
    attempts = ATTEMPTS.replace(before, after)
    (problem,) = problems_of(tmp_path, {"attempts.csv": attempts})
    assert (problem.file, problem.line, problem.column) == ("attempts.csv", 3, "id")
    assert f"another {column}" in problem.what

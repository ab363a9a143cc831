"""Problems are told in full while they are few, and in short when they are many."""

import pytest

from progress.usecases.folders.problems import FolderRefused, Known, Problem, Problems, shown


def many(number: int, column: str = "result") -> Problems:
    """Problems of one kind, one a line."""
    problems = Problems()
    for line in range(2, number + 2):
        problems.add("attempts.csv", line, column, "'x' is not a result.", "Write clean.")
    return problems


def refused(problems: Problems) -> FolderRefused:
    """What is raised for these problems."""
    with pytest.raises(FolderRefused) as raised:
        problems.raise_if_any(["skills.csv", "attempts.csv"])
    return raised.value


def test_a_problem_says_where_what_and_how_to_mend_it() -> None:
    problem = Problem("attempts.csv", 17, "result", "'cleen' is not a result.", "Write clean.")
    assert str(problem) == (
        "attempts.csv, line 17, column result: 'cleen' is not a result. Write clean."
    )


def test_nothing_is_raised_where_nothing_is_wrong() -> None:
    Problems().raise_if_any([])


def test_few_problems_are_all_told() -> None:
    assert len(refused(many(150)).lines(200)) == 150


def test_many_problems_are_cut_short_and_counted() -> None:
    lines = refused(many(50_000)).lines(200)
    assert len(lines) == 201
    assert lines[-1] == "... and 49,800 more problems of these kinds."


def test_many_problems_of_a_kind_are_not_all_kept() -> None:
    assert len(refused(many(50_000)).problems) == 200


def test_a_rare_problem_is_told_among_many_of_another_kind() -> None:
    problems = many(50_000)
    problems.add("attempts.csv", 60_000, "at", "'soon' is not a date.", "Write a date.")
    lines = refused(problems).lines(200)
    assert any("line 60000, column at" in line for line in lines)


def test_lines_come_in_the_order_of_the_files() -> None:
    problems = many(3)
    problems.add("skills.csv", 9, "tier", "'x' is not a whole number.", "Write one.")
    problems.add("folder", None, None, "holds two such files.", "Take one away.")
    files = [problem.file for problem in refused(problems).problems]
    assert files == ["folder", "skills.csv", *["attempts.csv"] * 3]


def test_text_of_a_file_is_shown_short_and_on_one_line() -> None:
    told = shown("a\n\x1b[31m" + "b" * 100)
    assert told.isprintable()
    assert len(told) < 80


def test_hints_are_given_only_for_the_first_strangers() -> None:
    known = Known({"swing-1"}, hints_left=2)
    assert [known.hint("swing-l") for _ in range(3)] == [" (did you mean 'swing-1'?)"] * 2 + [""]

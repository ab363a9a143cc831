"""Data sets that others have published fits for, as spells of attempts.

A person is a spell, an item a skill; there are no coaches, variants or ladders.
"""

import csv
import io
import tarfile
from dataclasses import dataclass
from importlib.metadata import distribution

import numpy as np
from numpy.typing import NDArray

from progress.engine.difficulty import Estimates, Problem, Spells, reaching_grid
from progress.engine.outcomes import ASSISTED, CLEAN, MISS

# Section 6 of the Law School Admission Test, 1000 people and 5 items, answers by pattern: Bock &
# Lieberman 1970, Psychometrika 35:179-197.
LSAT_6 = """
00000:3 00001:6 00010:2 00011:11 00100:1 00101:1 00110:3 00111:4
01000:1 01001:8 01010:0 01011:16 01100:0 01101:3 01110:2 01111:15
10000:10 10001:29 10010:14 10011:81 10100:3 10101:28 10110:15 10111:80
11000:16 11001:56 11010:21 11011:173 11100:11 11101:61 11110:28 11111:298
"""


def lsat_6() -> NDArray[np.int64]:
    """0 or 1, shape (1000, 5)."""
    rows = []
    for pattern, count in (word.split(":") for word in LSAT_6.split()):
        rows += [[int(answer) for answer in pattern]] * int(count)
    return np.array(rows)


@dataclass(frozen=True)
class VerbalAggression:
    """Answers to 24 items on verbal aggression: 0 no, 1 perhaps, 2 yes; shape (316, 24).

    De Boeck & Wilson 2004, Explanatory Item Response Models.
    """

    items: tuple[str, ...]
    answers: NDArray[np.int64]


def verbal_aggression() -> VerbalAggression:
    """Read the copy in the package pydataset, out of its archive and without importing it.

    Importing would unpack the archive into the home folder.
    """
    archive = distribution("pydataset").locate_file("pydataset/resources.tar.gz")
    with tarfile.open(str(archive)) as files:
        file = files.extractfile("resources/rdata/csv/lme4/VerbAgg.csv")
        assert file is not None
        rows = list(csv.DictReader(io.TextIOWrapper(file, encoding="utf-8")))
    items = list(dict.fromkeys(row["item"] for row in rows))
    people = list(dict.fromkeys(row["id"] for row in rows))
    level = {"no": 0, "perhaps": 1, "yes": 2}
    answers = np.full((len(people), len(items)), -1)
    for row in rows:
        answers[people.index(row["id"]), items.index(row["item"])] = level[row["resp"]]
    assert answers.min() == 0
    return VerbalAggression(tuple(items), answers)


def right_or_wrong(answers: NDArray[np.int64]) -> NDArray[np.int64]:
    """0 and 1 as miss and clean."""
    return np.where(answers > 0, CLEAN, MISS)


def problem_of(results: NDArray[np.int64], *, graded: bool, free_slope: bool) -> Problem:
    """Fit these results (people, items) by maximum likelihood, ability normal around 0.

    With ``free_slope`` the spread of ability is free, which is a slope common to all items; else
    it is 1. ``graded``: whether there are three results, so that help gaps are free too.
    """
    people, items = results.shape
    nobody, nothing = np.full(results.size, -1), np.zeros(0)
    spells = Spells(
        spell=np.repeat(np.arange(people), items),
        ladder=np.zeros(results.size, dtype=np.int64),
        skill=np.tile(np.arange(items), people),
        coach=nobody,
        variant=nobody,
        result=results.ravel(),
        group=np.zeros(people, dtype=np.int64),
    )
    assert set(np.unique(results)) <= {MISS, ASSISTED, CLEAN}
    gaps = np.full(items, 1.0 if graded else 0.0)
    spread = np.array([1.0, 0.0, 0.0])
    start = Estimates(np.zeros(items), gaps, nothing, nothing, np.zeros(1), spread)
    free = np.zeros(2 * items + 4, dtype=bool)
    free[: 2 * items if graded else items] = True
    free[-3] = free_slope
    grid = reaching_grid(start, step=0.25, reach=7.0)
    return Problem(spells, start, free, np.full(len(free), np.inf), grid)

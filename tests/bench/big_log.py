"""A long log for a throw-away site, put into the table directly: a million attempts in seconds."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np
from django.db import connection, transaction

from tests.bench.filled_site import models
from tests.simulated_gyms import SimulatedGym

WEEKS, TRIES = 40, 4  # of a visit
STORED_AT_ONCE = 20_000
RESULTS = np.array(["miss", "assisted", "clean"])
COLUMNS = (
    *("uid", "athlete_id", "skill_id", "at", "result", "coach_id"),
    *("note", "taken_back", "reason", "stored_at"),
)


def add_attempts(gym: SimulatedGym, last_day: date, attempts: int, seed: int = 1) -> None:
    """Visits spread over the year before ``last_day``, results by the gym's true chances.

    The site must have been made with this gym.
    """
    columns = _columns(gym, last_day, attempts, np.random.default_rng(seed))
    names = ", ".join(COLUMNS)
    places = ", ".join(["%s"] * len(COLUMNS))
    statement = f"INSERT INTO progress_attempt ({names}) VALUES ({places})"
    with transaction.atomic(), connection.cursor() as cursor:
        for rows in _batches(columns):
            cursor.executemany(statement, rows)


def _columns(
    gym: SimulatedGym, last_day: date, attempts: int, dice: np.random.Generator
) -> list[list[object]]:
    visits = attempts // TRIES
    athlete = dice.integers(0, len(gym.tiers), visits)
    days = 7 * dice.integers(0, WEEKS, visits) + 1
    skills = _skills(gym, athlete, dice)
    chance = gym.chance[np.repeat(athlete, TRIES), skills.ravel()]
    roll = dice.random(len(chance))
    result = np.where(roll < chance, 2, np.where(roll < (1 + chance) / 2, 1, 0))
    start = np.datetime64(last_day - timedelta(days=1)) + np.timedelta64(17 * 3600, "s")
    at = start - days[:, None] * np.timedelta64(86_400, "s")
    at = at + np.arange(TRIES) * np.timedelta64(45, "s")
    coach = dice.integers(0, len(gym.log.coaches), visits)
    return [
        _keys(models.Athlete, list(gym.log.athletes))[np.repeat(athlete, TRIES)].tolist(),
        _keys(models.Skill, [s.code for s in gym.catalogue.skills])[skills.ravel()].tolist(),
        np.char.replace(at.ravel().astype(str), "T", " ").tolist(),
        RESULTS[result].tolist(),
        _keys(models.StaffMember, list(gym.log.coaches))[np.repeat(coach, TRIES)].tolist(),
    ]


def _skills(
    gym: SimulatedGym,
    athlete: "np.ndarray[tuple[int], np.dtype[np.int64]]",
    dice: np.random.Generator,
) -> "np.ndarray[tuple[int, int], np.dtype[np.int64]]":
    """Two skills a visit, two tries each, around the athlete's tier."""
    place = {(skill.ladder, skill.tier): c for c, skill in enumerate(gym.catalogue.skills)}
    ladders, tiers = gym.catalogue.ladders, gym.catalogue.tiers
    table = np.array([[place[ladder, tier] for tier in tiers] for ladder in ladders])
    tier = np.array(gym.tiers)[athlete] - 1
    near = tier[:, None] + dice.choice([-1, 0, 0, 0, 1], (len(athlete), 2))
    ladder = dice.integers(0, len(ladders), (len(athlete), 2))
    return np.repeat(table[ladder, np.clip(near, 0, len(tiers) - 1)], TRIES // 2, axis=1)


def _keys(model: type, codes: list[str]) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    key = dict(model._default_manager.values_list("code", "pk"))  # type: ignore[attr-defined]
    return np.array([key[code] for code in codes])


def _batches(columns: list[list[object]]) -> Iterator[list[tuple[object, ...]]]:
    zone = "" if connection.vendor == "sqlite" else "+00:00"
    who, what, when, results, coaches = columns
    for first in range(0, len(who), STORED_AT_ONCE):
        some = slice(first, first + STORED_AT_ONCE)
        rows = zip(who[some], what[some], when[some], results[some], coaches[some], strict=True)
        yield [
            (f"log-{first + at}", a, s, f"{w}{zone}", r, c, "", False, "", f"{w}{zone}")
            for at, (a, s, w, r, c) in enumerate(rows)
        ]

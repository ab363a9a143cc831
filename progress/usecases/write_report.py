"""The lead asks for the whole gym's answers on a day, as four files."""

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from progress.engine.answers import Suggestion
from progress.engine.class_plan import plan_class
from progress.engine.loop_plan import Limits
from progress.engine.next_checks import next_checks
from progress.engine.picture import STATES
from progress.models import Athlete, Enrolment, GymClass, Loop, RuleBook, Skill
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import calibrate_on, read_parameters
from progress.usecases.engine_inputs import Holds, read_log
from progress.usecases.know_athletes import Known, picture_of
from progress.usecases.plans.setting import athletes_for, setting_of
from progress.usecases.see_class import loops_for, plan_around

COLUMNS = {
    "estimates.csv": (
        *("athlete", "skill", "p_clean", "low", "high"),
        *("attempts", "days", "last_at", "state"),
    ),
    "readiness.csv": (
        *("athlete", "tier", "next_tier", "decision", "p_ready"),
        *("holding_back", "why"),
    ),
    "suggestions.csv": ("athlete", "loop", "station", "variant", "p_clean", "why"),
    "next_checks.csv": ("athlete", "skill", "rank", "why"),
}
Row = Sequence[object]


@dataclass(frozen=True)
class Written:
    """Which files were written and how many rows each has."""

    rows: dict[str, int]


@dataclass(frozen=True)
class _Group:
    """Athletes who meet together: rows of the picture, and the loops they use."""

    gym_class: GymClass | None
    rows: list[int]


def write_report(*, folder: Path, as_of: date) -> Written:
    """Write the four files for the end of ``as_of``; files of that name are replaced.

    All are written in full beside the old ones before the first takes its place, so a full disk
    leaves the old report whole. Only attempts up to then count. The order of rows is fixed, so two
    runs on the same records are byte-identical.
    """
    class_of = _classes_on(as_of)
    known = _know_everybody(as_of, class_of)
    groups = _groups(known, class_of)
    tables = {
        "estimates.csv": _estimates(known),
        "readiness.csv": _readiness(known),
        "suggestions.csv": _suggestions(known, groups, as_of),
        "next_checks.csv": _checks(known, groups),
    }
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=folder, prefix=".report-") as fresh:
        written = {
            name: _write(Path(fresh) / name, COLUMNS[name], rows) for name, rows in tables.items()
        }
        for name in written:
            (Path(fresh) / name).replace(folder / name)
    return Written(written)


def _know_everybody(as_of: date, class_of: Mapping[int, GymClass]) -> Known:
    """Everybody in the programme on ``as_of``, on a calibration of that week."""
    skills = {skill.code: skill for skill in Skill.objects.with_needs()}
    catalogue, rules = as_catalogue(skills.values()), RuleBook.in_force()
    everybody = list(Athlete.objects.order_by("code"))
    log = read_log(catalogue, everybody, as_of)
    stored = calibrate_on(catalogue=catalogue, athletes=everybody, log=log, today=as_of)
    here = [row for row, athlete in enumerate(everybody) if _in_programme(athlete, as_of)]
    athletes = [everybody[row] for row in here]
    holds = Holds.read(athletes, as_of)
    seen = picture_of(
        athletes=athletes,
        holds=holds,
        log=log.of(here),
        catalogue=catalogue,
        parameters=read_parameters(stored, catalogue),
        rules=rules,
        class_challenges={pk: gym_class.challenge for pk, gym_class in class_of.items()},
    )
    return Known(tuple(athletes), skills, seen, holds, log, stored.cutoff)


def _in_programme(athlete: Athlete, day: date) -> bool:
    return athlete.left is None or athlete.left > day


def _classes_on(day: date) -> dict[int, GymClass]:
    """The first class, by code, of each athlete (by key) who is in one on ``day``."""
    running = (
        Enrolment.objects.running_on(day).select_related("gym_class").order_by("gym_class__code")
    )
    class_of: dict[int, GymClass] = {}
    for enrolment in running:
        class_of.setdefault(enrolment.athlete_id, enrolment.gym_class)
    return class_of


def _groups(known: Known, class_of: Mapping[int, GymClass]) -> list[_Group]:
    """Athletes by class; those in none form the last group."""
    groups: dict[str, _Group] = {}
    for row, athlete in enumerate(known.athletes):
        gym_class = class_of.get(athlete.pk)
        key = gym_class.code if gym_class else ""
        groups.setdefault(key, _Group(gym_class, [])).rows.append(row)
    # In the order of the class page, so that equal cases come out the same.
    for group in groups.values():
        group.rows.sort(key=lambda row: (known.athletes[row].name, known.athletes[row].code))
    return [groups[key] for key in sorted(groups, key=lambda key: (key == "", key))]


def _estimates(known: Known) -> Iterator[Row]:
    seen = known.picture
    low, high = seen.interval
    for row, athlete in enumerate(seen.athletes):
        for column, skill in enumerate(seen.catalogue.skills):
            last = int(seen.evidence.last[row, column])
            yield (
                athlete.code,
                skill.code,
                _chance(float(seen.chance[row, column])),
                _chance(float(low[row, column])),
                _chance(float(high[row, column])),
                int(seen.evidence.attempts[row, column]),
                int(seen.evidence.days[row, column]),
                date.fromordinal(last).isoformat() if last >= 0 else "",
                STATES[seen.state[row, column]].value,
            )


def _readiness(known: Known) -> Iterator[Row]:
    for answer in known.readiness:
        yield (
            answer.athlete,
            answer.tier,
            "" if answer.next_tier is None else answer.next_tier,
            answer.decision.value,
            _chance(answer.p_ready),
            " ".join(answer.holding_back),
            answer.why,
        )


def _suggestions(known: Known, groups: Sequence[_Group], as_of: date) -> Iterator[Row]:
    floor = list(Loop.objects.on_floor(as_of))
    found: list[Suggestion] = []
    for group in groups:
        loops = loops_for(group.gym_class, floor)
        if group.gym_class is None:
            terms = [loop.as_term() for loop in loops]
            alone = Limits(count_places=False)
            found.extend(plan_class(known.picture, group.rows, terms, alone).suggestions)
            continue
        setting = setting_of(group.gym_class, as_of, athletes_for(group.gym_class, as_of))
        rows = [row for row in group.rows if known.athletes[row].pk not in setting.away]
        found.extend(plan_around(known, rows, setting, loops).suggestions)
    # Stations stay in the order they are walked: sorting is stable.
    for plan in sorted(found, key=lambda plan: (plan.athlete, plan.loop)):
        chance = "" if plan.chance is None else _chance(plan.chance)
        yield plan.athlete, plan.loop, plan.station, plan.variant or "", chance, plan.why


def _checks(known: Known, groups: Sequence[_Group]) -> Iterator[Row]:
    for group in groups:
        for check in next_checks(known.picture, group.rows):
            yield check.athlete, check.skill, check.rank, check.why


def _chance(value: float) -> str:
    return f"{value:.4f}"


def _write(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> int:
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow(row)
            count += 1
    return count

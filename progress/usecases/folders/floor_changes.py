"""What loading a floor would change, and whether it may: attempts keep the floor they were on."""

from collections import Counter
from typing import NamedTuple

from progress.models import Attempt, Setup
from progress.usecases.folders.check_floor import Weeks
from progress.usecases.folders.layout import FLOOR
from progress.usecases.folders.plans import SetupPlan, plan_of, stored_setups
from progress.usecases.folders.problems import Problems, count, some_of
from progress.usecases.folders.table import Table

LEAVE_AS_STORED = (
    "Leave these rows as they are stored (save_folder writes them), or write the changed floor"
    " for a week of its own."
)


class FloorChange(NamedTuple):
    """The floor of one week as the folder has it and the stored setup it meets, if any."""

    plan: SetupPlan
    stored: Setup | None
    same: bool


def floor_changes(table: Table, weeks: Weeks, problems: Problems) -> list[FloorChange]:
    """Compare each week with what is stored; note weeks that attempts no longer let change."""
    stored = {setup.week: setup for setup in stored_setups(weeks)}
    changes = []
    differences = {}
    for week, plan in weeks.items():
        setup = stored.get(week)
        was = plan_of(setup) if setup else None
        plan = plan.in_areas_of(was)
        changes.append(FloorChange(plan, setup, same=plan == was))
        # Where rows were left out for a mistake of their own, the plan differs for that reason.
        if setup and was and plan != was and table.whole:
            differences[setup.pk] = differing(plan, was)
    first_line = {row.week: row.line for row in reversed(table.rows)}
    for setup_pk, attempts in attempts_on(differences).items():
        setup = next(setup for setup in stored.values() if setup.pk == setup_pk)
        name = f"of the week of {setup.week}" if setup.week else "without a week"
        what = (
            f"the floor {name} differs from the stored one at {differences[setup_pk]}, and"
            f" {count(attempts, 'attempt')} were made on that."
        )
        problems.add(FLOOR.file, first_line[setup.week], "week", what, LEAVE_AS_STORED)
    return changes


def attempts_on(setups: dict[int, str]) -> Counter[int]:
    """How many attempts point at variants of each of these setups; none is left out."""
    on_setups = Attempt.objects.filter(variant__station__setup__in=setups).order_by()
    return Counter(on_setups.values_list("variant__station__setup", flat=True).iterator())


def differing(plan: SetupPlan, was: SetupPlan) -> str:
    """The loops and stations in which two plans differ."""
    changed = {
        *(loop.code for loop in set(plan.loops) ^ set(was.loops)),
        *(station.code for station in set(plan.stations) ^ set(was.stations)),
    }
    return some_of(changed, 5) if changed else "the order of its loops"

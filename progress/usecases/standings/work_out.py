"""Work out some standings anew from the athletes' own log, and store them."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date

import numpy as np
from django.db import transaction
from django.db.models import DateField, QuerySet, Value

from progress.models import Athlete, Standing
from progress.usecases.engine_inputs import Holds, read_log
from progress.usecases.know_athletes import Known, picture_of
from progress.usecases.standings.basis import Basis

AT_A_TIME = 499  # athletes: up to here their attempts and holds are asked for by name
ANSWERS = (
    *("worked_out", "on_day", "basis", "tier", "next_tier", "decision", "p_ready"),
    *("holding_back", "reasons", "would_change", "last_checked"),
    *("ability", "ability_sd", "abilities"),
)


def work_out(*, athletes: Collection[int], basis: Basis, today: date) -> int:
    """Store the standings of these athletes (by key) as of the end of ``today``; how many.

    Given the basis athletes do not depend on each other, so it does not matter who else is worked
    out. An athlete changed meanwhile stays outdated, however many work at the same time.
    """
    keys = sorted(athletes)
    groups = (keys[start : start + AT_A_TIME] for start in range(0, len(keys), AT_A_TIME))
    return sum(_work_out(group, basis, today) for group in groups)


def _work_out(keys: Sequence[int], basis: Basis, today: date) -> int:
    # The counts of changes are read before any record. Whoever changes a record raises the count
    # in the same transaction, so an answer that does not know of a change has an old count.
    changes = _changes_of(keys)
    known = know_on(basis, keys, today)
    rows = list(_rows(known, changes, basis, today))
    with transaction.atomic():
        now = dict(_standings(keys).select_for_update().values_list("athlete_id", "changes"))
        kept = [row for row in rows if now.get(row.athlete_id) == row.changes]
        Standing.objects.bulk_create(
            kept, update_conflicts=True, unique_fields=["athlete"], update_fields=ANSWERS
        )
    return len(kept)


def know_on(basis: Basis, keys: Sequence[int], today: date) -> Known:
    """What ``know_athletes`` would say of these athletes, on a basis that was read before.

    Whether they were away lately is not asked: it eases practice and has no part in an answer.
    """
    here = Athlete.objects.annotate(last_here=Value(None, output_field=DateField()))
    athletes = tuple(here.filter(pk__in=keys).order_by("pk"))
    holds = Holds.read(athletes, today)
    log = read_log(basis.catalogue, athletes, today, coaches_asked=basis.rules.gate_coaches)
    seen = picture_of(
        athletes=athletes,
        holds=holds,
        log=log,
        catalogue=basis.catalogue,
        parameters=basis.parameters,
        rules=basis.rules,
    )
    return Known(athletes, basis.skills, seen, holds, log, basis.learnt.cutoff)


def _standings(keys: Sequence[int]) -> QuerySet[Standing]:
    """Always in the same order, so that two who lock them wait for each other."""
    return Standing.objects.filter(athlete__in=keys).order_by("athlete_id")


def _changes_of(keys: Sequence[int]) -> Mapping[int, int]:
    """How often each athlete changed; whoever has no standing gets one that is outdated."""
    counted = dict(_standings(keys).values_list("athlete_id", "changes"))
    missing = [key for key in keys if key not in counted]
    if missing:
        Standing.objects.bulk_create(
            (Standing(athlete_id=key) for key in missing), ignore_conflicts=True
        )
        counted = dict(_standings(keys).values_list("athlete_id", "changes"))
    return counted


def _rows(
    known: Known, changes: Mapping[int, int], basis: Basis, today: date
) -> Iterator[Standing]:
    """The standings as they are to be stored, in the order of the athletes."""
    beliefs = known.picture.beliefs
    codes = [skill.code for skill in known.picture.catalogue.skills]
    abilities = np.stack([known.picture.mean, known.picture.variance], axis=-1).tolist()
    for row, (athlete, said) in enumerate(zip(known.athletes, known.readiness, strict=True)):
        if athlete.pk not in changes:
            continue
        yield Standing(
            athlete=athlete,
            changes=changes[athlete.pk],
            worked_out=changes[athlete.pk],
            on_day=today,
            basis=basis.digest,
            tier=said.tier,
            next_tier=said.next_tier,
            decision=said.decision.value,
            p_ready=said.p_ready,
            holding_back=list(said.holding_back),
            reasons=list(said.reasons),
            would_change=list(said.would_change),
            last_checked=known.last_checked(row),
            ability=float(beliefs.root_mean[row]),
            ability_sd=float(beliefs.root_var[row]) ** 0.5,
            abilities=dict(zip(codes, abilities[row], strict=True)),
        )

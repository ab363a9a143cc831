"""What the engine said on the day of a decision, kept with it: codes and figures, no names."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from progress.engine.parameters import VERSION
from progress.models import Athlete, Attempt, ResultChoice, SignOff, StaffMember
from progress.usecases.engine_inputs import LEVEL, end_of, venue_day
from progress.usecases.sign_offs.cases import Case, Cases, SkillAsked, first_fresh_day

PLACES = 4  # digits kept of a chance

Uids = dict[tuple[int, str], list[str]]


def snapshots(cases: Cases, today: date) -> tuple[dict[str, Any], ...]:
    """One snapshot for each case, in their order: one query for the tries behind the gates.

    Days are YYYY-MM-DD, chances 0-1. ``gate_attempts`` are by skill code the uids of the unbroken
    run of clean tries a gate rests on, oldest first.
    """
    behind = _clean_runs(cases, today)
    return tuple(
        {
            "as_of": today.isoformat(),
            "calibration_cutoff": cases.known.learnt_before.isoformat(),
            "tier": case.readiness.tier,
            "next_tier": case.readiness.next_tier,
            "decision": case.readiness.decision.value,
            "p_ready": round(case.readiness.p_ready, PLACES),
            "holding_back": list(case.readiness.holding_back),
            "reasons": list(case.readiness.reasons),
            "would_change": list(case.readiness.would_change),
            "skills": [_skill(one) for one in case.asked],
            "gate_attempts": {
                one.skill.code: behind.get((case.athlete.pk, one.skill.code), [])
                for one in case.gates
            },
        }
        for case in cases.all
    )


def unsaved(
    case: Case, said: dict[str, Any], cases: Cases, lead: StaffMember, **values: Any
) -> SignOff:
    """A decision about this athlete, with what the engine said; not stored yet."""
    return SignOff(
        athlete=case.athlete,
        from_tier_id=case.athlete.tier_id,
        decided_by=lead,
        engine_said=said,
        engine_version=VERSION,
        rules_version=cases.known.picture.rules.version,
        **values,
    )


def _skill(one: SkillAsked) -> dict[str, Any]:
    estimate = one.estimate
    return {
        "skill": one.skill.code,
        "gate": one.skill.gate,
        "required": one.skill.required,
        "standard": one.skill.standard,
        "chance": round(estimate.chance, PLACES),
        "low": round(estimate.low, PLACES),
        "high": round(estimate.high, PLACES),
        "state": estimate.state.value,
        "attempts": estimate.attempts,
        "days": estimate.days,
        "last": None if one.last is None else one.last.isoformat(),
    }


def _clean_runs(cases: Cases, today: date) -> Uids:
    """The latest clean tries in a row within the fresh days, as the engine counts them."""
    gates = {one.skill.pk for case in cases.all for one in case.gates}
    since = first_fresh_day(cases.known, today) - timedelta(days=1)
    rows = (
        Attempt.objects.standing()
        .filter(
            athlete__in=[case.athlete.pk for case in cases.all],
            skill__in=gates,
            at__gte=end_of(since),
            at__lt=end_of(today),
        )
        .values_list("athlete_id", "skill__code", "at", "result", "uid")
        .order_by()
    )
    # Where only the day is known, a miss comes after the clean tries of that day.
    ordered = sorted(rows, key=lambda row: (venue_day(row[2]), -LEVEL[row[3]], row[4]))
    runs: Uids = {}
    for athlete, skill, _, result, uid in ordered:
        run = runs.setdefault((athlete, skill), [])
        if result == ResultChoice.CLEAN:
            run.append(uid)
        else:
            run.clear()
    return runs


def by_code(athletes: Sequence[Athlete]) -> dict[str, str]:
    """What each athlete is called, by code."""
    return {athlete.code: str(athlete) for athlete in athletes}

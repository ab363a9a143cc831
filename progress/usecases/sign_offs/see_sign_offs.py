"""The lead reads recent decisions: what was decided, why, what the engine said then."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Page, Paginator

from progress.engine.terms import Decision
from progress.models import SignOff, Skill
from progress.usecases.sign_offs.latest import latest_standing
from progress.usecases.sign_offs.undo import undo_until, why_not

ROWS_A_PAGE = 25


@dataclass(frozen=True)
class Said:
    """What the engine said on the day: None and empty where the snapshot does not tell."""

    decision: Decision | None
    p_ready: float | None
    reasons: tuple[str, ...]
    gates: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Decided:
    """One decision. ``undo_until`` is None where it cannot be taken back.

    ``in_force``: it stands, is the athlete's latest, and they are still in its tier.
    ``may_move_back``: it moved up and is in force, and the day for taking it back is over.
    """

    sign_off: SignOff
    said: Said
    up: bool
    undo_until: datetime | None
    in_force: bool
    may_move_back: bool


def see_sign_offs(*, now: datetime, page: str | int | None = None) -> tuple[Page, list[Decided]]:
    """One page of decisions, the newest first: four queries. An unknown page is the nearest."""
    rows = SignOff.objects.select_related(
        "athlete", "from_tier", "to_tier", "decided_by", "undone_by"
    ).order_by("-decided_at", "-pk")
    chosen = Paginator(rows, ROWS_A_PAGE).get_page(page)
    found: Sequence[SignOff] = list(chosen.object_list)
    latest = latest_standing([row.athlete for row in found])
    names = _skill_names(found)
    return chosen, [_decided(row, latest.get(row.athlete_id), names, now) for row in found]


def _decided(
    row: SignOff, latest: SignOff | None, names: Mapping[str, str], now: datetime
) -> Decided:
    open_still = not why_not(row, latest, now)
    there = latest == row and row.athlete.tier_id == row.to_tier_id and row.athlete.left is None
    up = row.to_tier_id > row.from_tier_id
    return Decided(
        sign_off=row,
        said=_said(row, names),
        up=up,
        undo_until=undo_until(row) if open_still else None,
        in_force=there,
        may_move_back=up and there and not open_still,
    )


def _skill_names(rows: Sequence[SignOff]) -> dict[str, str]:
    codes = {one["skill"] for row in rows for one in row.snapshot().get("skills", [])}
    return dict(Skill.objects.filter(code__in=codes).values_list("code", "name"))


def _said(row: SignOff, names: Mapping[str, str]) -> Said:
    """The snapshot in words; older or foreign snapshots may lack anything."""
    said = row.snapshot()
    decision, chance = said.get("decision"), said.get("p_ready")
    gates = [one for one in said.get("skills", []) if one.get("gate")]
    return Said(
        decision=Decision(decision) if decision in set(Decision) else None,
        p_ready=chance if isinstance(chance, int | float) else None,
        reasons=tuple(str(one) for one in said.get("reasons", [])),
        gates=tuple((names.get(one["skill"], one["skill"]), one.get("state", "")) for one in gates),
    )

"""Compare what the floor practises with what children need, and propose a better station.

Only a proposal: the coach decides what is built, and whether it is fit to be used.
"""

from collections.abc import Mapping, Sequence

from progress.engine.station_answers import (
    Answer,
    Binding,
    CoverRow,
    Proposal,
    SkillServed,
    Swap,
    in_words,
    summary,
    why_of,
)
from progress.engine.station_demand import Bools, Demand, Floor, Table
from progress.engine.station_solver import CLOSE, Limit, LimitKind, best_slots, broken, limits_of

MOST_CHANGES = 3  # more at once is a new floor, and a coach's own work


def cover(
    demand: Demand, floor: Floor, place_of: Mapping[str, tuple[str, int]]
) -> tuple[CoverRow, ...]:
    """How many children need each ladder and tier, and how many the present floor serves.

    ``place_of`` gives every skill's ladder and tier; raises KeyError for a skill it lacks. Rows
    come by ladder, then tier; ladders and tiers nobody needs are left out.
    """
    table = Table(demand, floor)
    served = table.served(table.present)
    rows: dict[tuple[str, int], list[int]] = {}
    for at, need in enumerate(table.needs):
        rows.setdefault(place_of[need.skill], []).append(at)
    return tuple(
        CoverRow(
            ladder=ladder,
            tier=tier,
            needing=len({table.needs[at].athlete for at in found}),
            served=len({table.needs[at].athlete for at in found if served[at]}),
            weight=float(table.weights[found].sum()),
            weight_served=float(sum(table.weights[at] for at in found if served[at])),
        )
        for (ladder, tier), found in sorted(rows.items())
    )


def propose(demand: Demand, floor: Floor, changes: int = 1) -> Proposal:
    """Which stations to put in and take out so that most of the children's needs are served.

    Each need counts once, by its weight. Areas keep their number of stations, a fixed station
    stays, a small-area station stands only in a small area, and space and equipment suffice. At
    most ``changes`` stations are swapped, 1 to 3; else ValueError. Equally good floors: fewest
    swaps, then first by code. The order of needs, stations and areas changes nothing.
    """
    if not 1 <= changes <= MOST_CHANGES:
        raise ValueError(f"between 1 and {MOST_CHANGES} changes, not {changes}")
    table = Table(demand, floor)
    slots = best_slots(table, changes)
    if slots is None:
        binding = _what_forbids(table, changes)
        return _proposal(table, Answer.IMPOSSIBLE, table.present, (), binding)
    swaps = _in_order(table, slots)
    if swaps:
        return _proposal(table, Answer.CHANGE, slots, swaps, ())
    return _proposal(table, Answer.AS_GOOD, slots, (), _what_holds_back(table, changes))


def _proposal(
    table: Table,
    answer: Answer,
    slots: Sequence[int],
    swaps: tuple[Swap, ...],
    binding: tuple[Binding, ...],
) -> Proposal:
    before, after = table.served(table.present), table.served(slots)
    already = tuple(broken(table, table.present))
    return Proposal(
        answer=answer,
        swaps=swaps,
        weight=float(table.weights.sum()),
        weight_before=table.worth(table.present),
        weight_after=table.worth(slots),
        children=len({need.athlete for need in table.needs}),
        children_before=_children(table, before),
        children_after=_children(table, after),
        broken=already,
        binding=binding,
        why=summary(answer, swaps, already, binding, anybody=bool(table.needs)),
    )


def _children(table: Table, served: Bools) -> int:
    return len({need.athlete for need, yes in zip(table.needs, served, strict=True) if yes})


def _in_order(table: Table, slots: Sequence[int]) -> tuple[Swap, ...]:
    """Pair what goes with what comes in the same area: first what can be done alone, most first."""
    floor = list(table.present)
    going = [slot for slot in table.present if slot not in set(slots)]
    coming = [slot for slot in slots if slot not in set(table.present)]
    each = len(table.stations)
    swaps = []
    while going:
        choices = []
        for out in going:
            for into in coming:
                if out // each == into // each:
                    then = [slot for slot in floor if slot != out] + [into]
                    kept = not broken(table, then)
                    choices.append((not kept, -round(table.worth(then), 9), into, out))
        _, _, into, out = min(choices)
        then = [slot for slot in floor if slot != out] + [into]
        swaps.append(_swap(table, floor, then, out, into))
        floor = then
        going.remove(out)
        coming.remove(into)
    return tuple(swaps)


def _swap(table: Table, floor: Sequence[int], then: Sequence[int], out: int, into: int) -> Swap:
    before, after = table.served(floor), table.served(then)
    (area, goes), (_, comes) = table.slots[out], table.slots[into]
    children = _children(table, before), _children(table, after)
    needs = int(before.sum()), int(after.sum())
    skills = _skills(table, before, after)
    return Swap(
        area=area.code,
        out=goes.code,
        into=comes.code,
        gain=table.worth(then) - table.worth(floor),
        children_before=children[0],
        children_after=children[1],
        skills=skills,
        alone=not broken(table, then),
        why=why_of((goes, comes), children, needs, skills),
    )


def _skills(table: Table, before: Bools, after: Bools) -> tuple[SkillServed, ...]:
    found: dict[str, list[int]] = {}
    for need, was, will in zip(table.needs, before, after, strict=True):
        counts = found.setdefault(need.skill, [0, 0, 0])
        for place, yes in enumerate((True, was, will)):
            counts[place] += bool(yes)
    changed = [
        SkillServed(skill, table.names.get(skill) or skill, *counts)
        for skill, counts in found.items()
    ]
    changed = [one for one in changed if one.before != one.after]
    return tuple(sorted(changed, key=lambda one: (one.before - one.after, one.skill)))


def _what_forbids(table: Table, changes: int) -> tuple[Binding, ...]:
    """Limits without which, each left out alone, there would be a floor."""
    return tuple(
        Binding(limit, None, f"{in_words(limit)} leaves no floor that keeps every limit.")
        for limit in limits_of(table)
        if _without(table, changes, limit, len(table.present)) is not None
    )


def _what_holds_back(table: Table, changes: int) -> tuple[Binding, ...]:
    """Limits without which, each left out alone, a better floor would be found; most first."""
    now = table.worth(table.present)
    found = []
    for limit in limits_of(table):
        slots = _without(table, changes, limit, MOST_CHANGES)
        gain = table.worth(slots) - now if slots is not None else 0.0
        if gain > CLOSE:
            why = f"{in_words(limit)} keeps a better floor away."
            found.append(Binding(limit, gain, why))
    return tuple(sorted(found, key=lambda one: (-round(one.gain or 0.0, 9), one.limit)))


def _without(table: Table, changes: int, limit: Limit, most: int) -> list[int] | None:
    if limit.kind is not LimitKind.CHANGES:
        return best_slots(table, changes, [limit], plainest=False)
    return best_slots(table, most, plainest=False) if most > changes else None

"""The comparison in rows: skills by how many children they hold back, and ladders by tier."""

from collections.abc import Sequence
from dataclasses import dataclass

from progress.engine.station_answers import CoverRow
from progress.models import Tier
from progress.usecases.coverage.see_coverage import Coverage, SkillNeeded

BAR = 60.0  # units of the drawing that a full bar is wide
MOST_REASONS = 2


@dataclass(frozen=True)
class Served:
    """How many need something and how many of them this floor serves, as a bar and in words."""

    needing: int
    served: int

    @property
    def width(self) -> float:
        """How far the bar is filled."""
        return round(BAR * self.served / self.needing, 1) if self.needing else 0.0

    @property
    def words(self) -> str:
        """``all 5``, ``3 of 5``, ``none of 5``."""
        if self.served == self.needing:
            return f"all {self.needing}" if self.needing > 1 else "the one child"
        return f"{self.served or 'none'} of {self.needing}"


@dataclass(frozen=True)
class SkillRow:
    """A skill with where it is practised and why some may not go there yet."""

    needed: SkillNeeded
    served: Served
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class LadderRow:
    """A ladder with a cell for each tier of the table, None where nobody needs anything."""

    name: str
    cells: tuple[tuple[Tier, Served | None], ...]


def skill_rows(skills: Sequence[SkillNeeded]) -> list[SkillRow]:
    """Rows in the order given."""
    return [SkillRow(one, Served(one.needing, one.served), tuple(_reasons(one))) for one in skills]


def _reasons(one: SkillNeeded) -> list[str]:
    reasons = list(one.barred.items())
    said = [f"{count} {reason}" for reason, count in reasons[:MOST_REASONS]]
    more = sum(count for _, count in reasons[MOST_REASONS:])
    said += [f"{more} for other reasons"] if more else []
    elsewhere = one.needing - one.served - sum(one.barred.values())
    return [*said, f"{elsewhere} train in another area"] if elsewhere and one.stations else said


def tiers_of(coverage: Coverage) -> list[Tier]:
    """The tiers in which anybody needs anything."""
    numbers = {row.tier for row in coverage.rows}
    found = {skill.tier_id: skill.tier for skill in coverage.catalogue.values()}
    return [found[number] for number in sorted(numbers)]


def ladder_rows(coverage: Coverage) -> list[LadderRow]:
    """Ladders that hold anybody back, in the catalogue's order."""
    names = {skill.ladder.code: skill.ladder.name for skill in coverage.catalogue.values()}
    cells: dict[str, dict[int, CoverRow]] = {}
    for row in coverage.rows:
        cells.setdefault(row.ladder, {})[row.tier] = row
    tiers = tiers_of(coverage)
    return [
        LadderRow(names[ladder], tuple((tier, _cell(found.get(tier.number))) for tier in tiers))
        for ladder, found in cells.items()
    ]


def _cell(row: CoverRow | None) -> Served | None:
    return Served(row.needing, row.served) if row else None

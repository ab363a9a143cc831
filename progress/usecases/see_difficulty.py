"""The lead asks how hard each skill is next to how able the children are, and what sits askew."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from statistics import median

import numpy as np

from progress.engine.log import Log
from progress.engine.outcomes import Floats
from progress.engine.picture import Picture
from progress.engine.placing import Placed, placing
from progress.engine.terms import Catalogue
from progress.models import Athlete, RuleBook, Skill
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import Learnt, learnt_by
from progress.usecases.engine_inputs import Holds, read_log
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow, yesterday
from progress.usecases.know_athletes import picture_of

BIN = 0.25  # logits: how finely children are counted along the scale
ALL_LADDERS = ""


@dataclass(frozen=True)
class WholeGym:
    """The engine's picture of these athletes at the end of a day, rows in their order."""

    athletes: tuple[Athlete, ...]
    picture: Picture
    log: Log
    learnt: Learnt


@dataclass(frozen=True)
class Spread:
    """How the checked athletes of one tier lie along the scale.

    ``middle``: median ability in logits. ``counts``: (middle of a bin in logits, athletes in it),
    only bins with somebody in them; a bin is ``BIN`` wide.
    """

    tier: int
    athletes: int
    middle: float
    counts: tuple[tuple[float, int], ...]


@dataclass(frozen=True)
class DifficultyMap:
    """Skills and athletes on one scale, in logits, as of the end of ``until``.

    ``learnt_before``: the first day whose tries the difficulties know nothing of; ``attempts`` are
    the tries they were learnt from. ``spreads``: general ability under ``ALL_LADDERS``, ability on
    one ladder under its code. ``middles``: the median difficulty of each tier's skills.
    ``unchecked`` athletes have no try on record and are in no spread.
    """

    until: date
    learnt_before: date
    skills: Mapping[str, Skill]
    placed: tuple[Placed, ...]
    spreads: Mapping[str, tuple[Spread, ...]]
    middles: Mapping[int, float]
    athletes: int
    unchecked: int
    attempts: int

    @property
    def misplaced(self) -> tuple[Placed, ...]:
        """Skills whose figures point to another tier, the surest first."""
        found = [one for one in self.placed if one.points_to is not None]
        return tuple(sorted(found, key=lambda one: (-sureness(one), one.skill)))


@dataclass(frozen=True)
class _Worked:
    """What is kept for the day: everything of the map but the records."""

    learnt_before: date
    placed: tuple[Placed, ...]
    spreads: dict[str, tuple[Spread, ...]]
    athletes: int
    unchecked: int
    attempts: int


def see_difficulty(*, today: date) -> DifficultyMap:
    """The map of the whole gym, kept for the day; without skills it is empty.

    Nine queries where it is kept; where it is not, also the whole log once.
    """
    skills = {skill.code: skill for skill in Skill.objects.with_needs()}
    catalogue = as_catalogue(skills.values())
    until = yesterday(today)
    if not skills:
        return DifficultyMap(until, until, {}, (), {ALL_LADDERS: ()}, {}, 0, 0, 0)
    # Made first where there is none: one made on the way would pass for something new next time.
    learnt_by(catalogue=catalogue, today=today)
    worked = kept_until_tomorrow(
        question="difficulty",
        of=catalogue_digest(catalogue),
        today=today,
        work_out=lambda day: _work_out(catalogue, day),
    )
    return DifficultyMap(
        until=until,
        learnt_before=worked.learnt_before,
        skills=skills,
        placed=worked.placed,
        spreads=worked.spreads,
        middles=_middles(worked.placed),
        athletes=worked.athletes,
        unchecked=worked.unchecked,
        attempts=worked.attempts,
    )


def sureness(placed: Placed) -> float:
    """The probability behind the tier that the figures point to; 0 where they point nowhere."""
    if placed.points_to is None:
        return 0.0
    found = placed.p_harder if placed.points_to > placed.tier else placed.p_easier
    return found or 0.0


def catalogue_digest(catalogue: Catalogue) -> str:
    """Tells catalogues apart that ask for different things; names do not matter."""
    asked = [
        (s.code, s.ladder, s.tier, s.required, s.gate, s.needs, s.standard, s.minimum_age)
        for s in catalogue.skills
    ]
    return sha256(repr(asked).encode()).hexdigest()


def know_gym(*, athletes: Sequence[Athlete], catalogue: Catalogue, until: date) -> WholeGym:
    """Read and replay the log of ``athletes`` to the end of ``until``, a day before today.

    The parameters are those that every other page uses on the day after ``until``.
    """
    rules, holds = RuleBook.in_force(), Holds.read(athletes, until)
    log = read_log(catalogue, athletes, until, coaches_asked=rules.gate_coaches)
    learnt = learnt_by(catalogue=catalogue, today=until + timedelta(days=1)).knowing(log.variants)
    seen = picture_of(
        athletes=athletes,
        holds=holds,
        log=log,
        catalogue=catalogue,
        parameters=learnt.parameters,
        rules=rules,
    )
    return WholeGym(tuple(athletes), seen, log, learnt)


def _work_out(catalogue: Catalogue, until: date) -> _Worked:
    """Skills are placed by the tries of everybody, athletes shown only while they are here."""
    gym = know_gym(
        athletes=list(Athlete.objects.order_by("code")), catalogue=catalogue, until=until
    )
    # Tries that the difficulties were not learnt from yet must not make a skill look well known.
    used = gym.log.before(float(gym.learnt.cutoff.toordinal()))
    here = np.array([one.left is None or one.left > until for one in gym.athletes], dtype=bool)
    checked = gym.picture.evidence.attempts.sum(axis=1) > 0
    shown = np.flatnonzero(here & checked)
    return _Worked(
        learnt_before=gym.learnt.cutoff,
        placed=placing(catalogue, used, gym.learnt.parameters),
        spreads=_spreads(gym.picture, shown),
        athletes=len(shown),
        unchecked=int((here & ~checked).sum()),
        attempts=len(used),
    )


def _spreads(
    picture: Picture, rows: "np.ndarray[tuple[int], np.dtype[np.intp]]"
) -> dict[str, tuple[Spread, ...]]:
    told = picture.beliefs
    on_ladder = (1.0 - told.ladder_lag) * told.root_mean[:, None] + told.ladder_shift
    abilities = {ALL_LADDERS: told.root_mean} | {
        ladder: on_ladder[:, column] for column, ladder in enumerate(picture.catalogue.ladders)
    }
    tiers = picture.tier[rows]
    return {
        ladder: tuple(_spread(int(tier), ability[rows][tiers == tier]) for tier in np.unique(tiers))
        for ladder, ability in abilities.items()
    }


def _spread(tier: int, ability: Floats) -> Spread:
    bins, counts = np.unique(np.floor(ability / BIN), return_counts=True)
    middles = (bins + 0.5) * BIN
    counted = tuple(zip(middles.tolist(), counts.tolist(), strict=True))
    return Spread(tier, len(ability), float(np.median(ability)), counted)


def _middles(placed: Iterable[Placed]) -> dict[int, float]:
    found: dict[int, list[float]] = {}
    for one in placed:
        found.setdefault(one.tier, []).append(one.difficulty)
    return {tier: median(found[tier]) for tier in sorted(found)}

"""What is believed of every athlete: a tree of normals, general ability > ladders > skills.

For one athlete let g be general ability, a = g + deviation the ability on a ladder, and
z = a + residual the ability at a skill. Their joint distribution is kept as a tree::

    g ~ N(root_mean, root_var)
    a | g ~ N((1 - ladder_lag) * g + ladder_shift, ladder_var)
    z | a ~ N((1 - skill_lag) * a + skill_shift, skill_var)

A try at one skill changes only g, that skill and its ladder *given their parents*; everything else
follows. So an update costs the same however many skills there are, and it is exactly the dense
rank-one update. Time adds variance at all three levels; the joint after that is replaced by the
tree with the same means, variances and parent-child covariances (the closest tree in
Kullback-Leibler terms: Chow & Liu 1968, IEEE Trans. Inf. Theory 14:462-467).

What time does to a skill is the same for all skills of a ladder, up to that skill's own lag. So
the passing of time is kept once a ladder, and a skill's numbers are kept as if no time had passed;
they are put together only where a skill is looked at. A long log of many skills then costs no more
than one of few.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from progress.engine.outcomes import Floats, Ints, learn
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue

# How wandering splits over general ability, a ladder and a skill: a modelling choice.
SHARES = (0.5, 0.25, 0.25)
# After this many days without a try certainty fades twice as fast and learning stops: the child
# was probably away. A hold counts the same. Both are modelling choices, not measurements.
LONG_BREAK = 21.0
FADES_FASTER = 2.0
# Below this the time kept aside is put into the skills, before digits are lost in differences.
LEAST_KEPT = 1e-2


@dataclass(frozen=True)
class GivenLadder:
    """A skill given the ability on its ladder: z | a ~ N((1 - lag) * a + shift, var)."""

    lag: Floats
    shift: Floats
    var: Floats


@dataclass
class Beliefs:
    """Arrays with one row an athlete; columns are ladders or skills of the catalogue.

    Changed in place by ``drift`` and ``observe``; ``rows`` gives views or copies of some athletes.
    The fields ``skill_*`` leave out the time kept in ``time_*``: read skills by ``given_ladder``.

    With time_kept = U, time_moved = B, time_widened = C and time_alone = S, a skill's true lag is
    U * skill_lag, its shift skill_shift + B * skill_lag, its variance
    skill_var + S + C * skill_lag**2.
    """

    ladder_of: Ints
    root_mean: Floats
    root_var: Floats
    ladder_lag: Floats
    ladder_shift: Floats
    ladder_var: Floats
    skill_lag: Floats
    skill_shift: Floats
    skill_var: Floats
    time_kept: Floats
    time_moved: Floats
    time_widened: Floats
    time_alone: Floats

    @classmethod
    def at_start(
        cls, catalogue: Catalogue, tiers: Sequence[int], parameters: Parameters
    ) -> "Beliefs":
        """The prior for athletes in ``tiers`` (one entry an athlete)."""
        count, ladders, skills = len(tiers), len(catalogue.ladders), len(catalogue.skills)
        return cls(
            ladder_of=np.array(catalogue.ladder_of, dtype=np.int64),
            root_mean=np.array([parameters.level(tier) for tier in tiers], dtype=float),
            root_var=np.full(count, parameters.general_sd**2),
            ladder_lag=np.zeros((count, ladders)),
            ladder_shift=np.zeros((count, ladders)),
            ladder_var=np.full((count, ladders), parameters.ladder_sd**2),
            skill_lag=np.zeros((count, skills)),
            skill_shift=np.zeros((count, skills)),
            skill_var=np.full((count, skills), parameters.skill_sd**2),
            time_kept=np.ones((count, ladders)),
            time_moved=np.zeros((count, ladders)),
            time_widened=np.zeros((count, ladders)),
            time_alone=np.zeros(count),
        )

    def __len__(self) -> int:
        return len(self.root_mean)

    def rows(self, which: "slice | Ints") -> "Beliefs":
        """These athletes only: views for a slice, copies for an index array."""
        arrays = (getattr(self, field.name)[which] for field in fields(self)[1:])
        return Beliefs(self.ladder_of, *arrays)

    def drift(self, general: Floats, ladder: Floats, skill: Floats, growth: Floats) -> None:
        """Let time pass: add these variances at each level and ``growth`` to the mean.

        All four have one entry an athlete.

        For a child with slope 1 - lag on a parent of variance P, movement of variance q shared by
        both leaves the parent with P + q and, writing u = P / (P + q), the child's lag with
        u * lag and its own variance with q * u * lag**2 more. That follows from keeping the
        child's variance and covariance with the parent.
        """
        mean, variance = self.root_mean[:, None], self.root_var[:, None]
        up = 1.0 - self.ladder_lag
        ladder_mean = mean * up + self.ladder_shift
        ladder_total = self.ladder_var + np.square(up) * variance
        kept = variance / (variance + general[:, None])
        lag, grown = self.ladder_lag, growth[:, None]
        self.ladder_shift += lag * (kept * (mean + grown) - mean)
        self.ladder_var += ladder[:, None] + (general[:, None] * kept) * np.square(lag)
        lag *= kept
        self._drift_skills(ladder_mean, ladder_total, (general + ladder)[:, None], grown)
        self.time_alone += skill
        self.root_mean += growth
        self.root_var += general
        if self.time_kept.min(initial=1.0) < LEAST_KEPT:
            self.settle()

    def _drift_skills(self, mean: Floats, total: Floats, added: Floats, grown: Floats) -> None:
        """Note what time does to all skills of each ladder, given the ladder as it was before."""
        kept = total / (total + added)
        self.time_moved += self.time_kept * (kept * (mean + grown) - mean)
        self.time_widened += (added * kept) * np.square(self.time_kept)
        self.time_kept *= kept

    def settle(self) -> None:
        """Put the time that passed into the skills' own numbers, so that none is kept aside."""
        now = self.given_ladder()
        self.skill_lag[:], self.skill_shift[:], self.skill_var[:] = now.lag, now.shift, now.var
        self.time_kept[:] = 1.0
        for kept_aside in (self.time_moved, self.time_widened, self.time_alone):
            kept_aside[:] = 0.0

    def given_ladder(self, columns: "slice | Sequence[int]" = slice(None)) -> GivenLadder:
        """The skills in ``columns`` given their ladders, shape (athletes, columns)."""
        of, lag = self.ladder_of[columns], self.skill_lag[:, columns]
        var = self.skill_var[:, columns] + self.time_alone[:, None]
        return GivenLadder(
            self.time_kept[:, of] * lag,
            self.skill_shift[:, columns] + self.time_moved[:, of] * lag,
            var + self.time_widened[:, of] * np.square(lag),
        )

    def observe(self, skill: Ints, result: Ints, hardness: Floats, help_gap: Floats) -> Floats:
        """Take in one try of every athlete; return the log probability it had beforehand.

        ``skill`` is the column tried, ``hardness`` what ability is up against, in logits.
        """
        path = _Path(self, skill)
        up, ladder_var = 1.0 - path.take(self.ladder_lag), path.take(self.ladder_var)
        ladder_mean = up * self.root_mean + path.take(self.ladder_shift)
        with_root = up * self.root_var
        ladder_total = ladder_var + up * with_root
        given = path.given_ladder()
        down = 1.0 - given.lag
        mean = down * ladder_mean + given.shift
        with_ladder = down * ladder_total
        total = given.var + down * with_ladder
        log_chance, new_mean, new_total = learn(mean - hardness, total, result, help_gap)
        new_mean += hardness
        pull = (new_mean - mean) / total
        shrink = (total - new_total) / total**2

        root_skill = down * with_root
        with_root -= root_skill * with_ladder * shrink
        self.root_mean += root_skill * pull
        self.root_var -= root_skill**2 * shrink
        ladder_mean += with_ladder * pull
        ladder_total -= with_ladder**2 * shrink
        up = with_root / self.root_var
        path.put(self.ladder_lag, 1.0 - up)
        path.put(self.ladder_shift, ladder_mean - up * self.root_mean)
        path.put(self.ladder_var, ladder_total - up * with_root)
        with_ladder *= 1.0 - total * shrink
        down = with_ladder / ladder_total
        path.put_given_ladder(
            GivenLadder(1.0 - down, new_mean - down * ladder_mean, new_total - down * with_ladder)
        )
        return log_chance

    def abilities(self) -> tuple[Floats, Floats]:
        """Mean and variance of z, shape (athletes, skills)."""
        up, given = 1.0 - self.ladder_lag, self.given_ladder()
        ladder_mean = up * self.root_mean[:, None] + self.ladder_shift
        ladder_total = self.ladder_var + up**2 * self.root_var[:, None]
        down = 1.0 - given.lag
        mean = down * ladder_mean[:, self.ladder_of] + given.shift
        return mean, given.var + down**2 * ladder_total[:, self.ladder_of]

    def covariance(self, row: int) -> Floats:
        """Covariance of z between all skills for one athlete, shape (skills, skills)."""
        of, given = self.ladder_of, self.rows(slice(row, row + 1)).given_ladder()
        up, down = 1.0 - self.ladder_lag[row], 1.0 - given.lag[0]
        ladders = np.outer(up, up) * self.root_var[row] + np.diag(self.ladder_var[row])
        return np.outer(down, down) * ladders[np.ix_(of, of)] + np.diag(given.var[0])


class _Path:
    """Where the numbers of one try stand: for each athlete one ladder and one skill on it.

    Flat places into the arrays: gathering by one index is far faster than by two.
    """

    def __init__(self, beliefs: Beliefs, skill: Ints) -> None:
        each = np.arange(len(beliefs))
        ladders, skills = beliefs.time_kept.shape[1], beliefs.skill_lag.shape[1]
        self.on_ladder = each * ladders + beliefs.ladder_of.take(skill)
        self.at_skill = each * skills + skill
        self.beliefs = beliefs
        self.kept = self.take(beliefs.time_kept)
        self.moved = self.take(beliefs.time_moved)
        self.widened = self.take(beliefs.time_widened)

    def take(self, of_ladders: Floats) -> Floats:
        return of_ladders.reshape(-1).take(self.on_ladder)

    def put(self, of_ladders: Floats, values: Floats) -> None:
        of_ladders.reshape(-1)[self.on_ladder] = values

    def given_ladder(self) -> GivenLadder:
        """The skill tried, as ``Beliefs.given_ladder`` has it."""
        told = self.beliefs
        lag = told.skill_lag.reshape(-1).take(self.at_skill)
        shift = told.skill_shift.reshape(-1).take(self.at_skill)
        var = told.skill_var.reshape(-1).take(self.at_skill)
        shift += self.moved * lag
        var += told.time_alone + self.widened * np.square(lag)
        return GivenLadder(self.kept * lag, shift, var)

    def put_given_ladder(self, now: GivenLadder) -> None:
        """Store the skill's numbers with the time kept aside taken out of them."""
        told = self.beliefs
        lag = now.lag / self.kept
        told.skill_lag.reshape(-1)[self.at_skill] = lag
        told.skill_shift.reshape(-1)[self.at_skill] = now.shift - self.moved * lag
        var = now.var - told.time_alone - self.widened * np.square(lag)
        told.skill_var.reshape(-1)[self.at_skill] = var

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
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from progress.engine.outcomes import Floats, Ints, learn
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue

# How wandering splits over general ability, a ladder and a skill: a modelling choice.
SHARES = (0.5, 0.25, 0.25)


@dataclass
class Beliefs:
    """Arrays with one row an athlete; columns are ladders or skills of the catalogue.

    Changed in place by ``drift`` and ``observe``; ``rows`` gives views or copies of some athletes.
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
        mean, variance = self.root_mean.copy(), self.root_var.copy()
        self.root_mean += growth
        self.root_var += general
        kept = (variance / self.root_var)[:, None]
        ladder_mean = mean[:, None] * (1.0 - self.ladder_lag) + self.ladder_shift
        ladder_total = self.ladder_var + (1.0 - self.ladder_lag) ** 2 * variance[:, None]
        self.ladder_shift += self.ladder_lag * (kept * (mean + growth)[:, None] - mean[:, None])
        self.ladder_var += ladder[:, None] + general[:, None] * kept * self.ladder_lag**2
        self.ladder_lag *= kept
        added = (general + ladder)[:, None]
        kept = ladder_total / (ladder_total + added)
        shift = kept * (ladder_mean + growth[:, None]) - ladder_mean
        added = added * kept
        of = self.ladder_of
        self.skill_shift += self.skill_lag * shift[:, of]
        self.skill_var += skill[:, None] + added[:, of] * np.square(self.skill_lag)
        self.skill_lag *= kept[:, of]

    def observe(self, skill: Ints, result: Ints, hardness: Floats, help_gap: Floats) -> Floats:
        """Take in one try of every athlete; return the log probability it had beforehand.

        ``skill`` is the column tried, ``hardness`` what ability is up against, in logits.
        """
        each = np.arange(len(self))
        ladder = self.ladder_of[skill]
        up, down = 1.0 - self.ladder_lag[each, ladder], 1.0 - self.skill_lag[each, skill]
        ladder_mean = up * self.root_mean + self.ladder_shift[each, ladder]
        ladder_total = self.ladder_var[each, ladder] + up**2 * self.root_var
        mean = down * ladder_mean + self.skill_shift[each, skill]
        total = self.skill_var[each, skill] + down**2 * ladder_total
        log_chance, new_mean, new_total = learn(mean - hardness, total, result, help_gap)
        pull = (new_mean + hardness - mean) / total
        shrink = (total - new_total) / total**2

        with_ladder = down * ladder_total
        with_root = down * up * self.root_var
        root_ladder = up * self.root_var - with_root * with_ladder * shrink
        self.root_mean += with_root * pull
        self.root_var -= with_root**2 * shrink
        ladder_mean += with_ladder * pull
        ladder_total -= with_ladder**2 * shrink
        self._set_ladder(each, ladder, ladder_mean, ladder_total, root_ladder)
        ladder_skill = with_ladder * (1.0 - total * shrink)
        down = ladder_skill / ladder_total
        self.skill_lag[each, skill] = 1.0 - down
        self.skill_shift[each, skill] = new_mean + hardness - down * ladder_mean
        self.skill_var[each, skill] = new_total - down * ladder_skill
        return log_chance

    def _set_ladder(
        self, each: Ints, ladder: Ints, mean: Floats, total: Floats, shared: Floats
    ) -> None:
        up = shared / self.root_var
        self.ladder_lag[each, ladder] = 1.0 - up
        self.ladder_shift[each, ladder] = mean - up * self.root_mean
        self.ladder_var[each, ladder] = total - up * shared

    def abilities(self) -> tuple[Floats, Floats]:
        """Mean and variance of z, shape (athletes, skills)."""
        up, down = 1.0 - self.ladder_lag, 1.0 - self.skill_lag
        ladder_mean = up * self.root_mean[:, None] + self.ladder_shift
        ladder_total = self.ladder_var + up**2 * self.root_var[:, None]
        mean = down * ladder_mean[:, self.ladder_of] + self.skill_shift
        return mean, self.skill_var + down**2 * ladder_total[:, self.ladder_of]

    def covariance(self, row: int) -> Floats:
        """Covariance of z between all skills for one athlete, shape (skills, skills)."""
        of = self.ladder_of
        up, down = 1.0 - self.ladder_lag[row], 1.0 - self.skill_lag[row]
        ladders = np.outer(up, up) * self.root_var[row] + np.diag(self.ladder_var[row])
        return np.outer(down, down) * ladders[np.ix_(of, of)] + np.diag(self.skill_var[row])

"""The probability that several skills meet their standards at once.

Skills of one child rise and fall together, so the product of single probabilities is wrong. In the
tree of beliefs skills are independent given their ladder and ladders given general ability, so the
joint probability is one integral over general ability with one inner integral for each ladder
that has more than one of the skills.
"""

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

from progress.engine.beliefs import Beliefs
from progress.engine.outcomes import Floats, normal_nodes

ROOT_NODES, ROOT_WEIGHTS = normal_nodes(21)
LADDER_NODES, LADDER_WEIGHTS = normal_nodes(21)


def all_above(
    beliefs: Beliefs, columns: Sequence[int], thresholds: Floats, extra_var: Floats
) -> Floats:
    """Probability, one an athlete, that z exceeds its threshold at every skill of ``columns``.

    ``thresholds`` and ``extra_var`` (independent variance added to z, such as doubt about the
    difficulty) have an entry for each of ``columns``. No columns: certain.
    """
    if not columns:
        return np.ones(len(beliefs))
    general = beliefs.root_mean[:, None] + np.sqrt(beliefs.root_var)[:, None] * ROOT_NODES
    chance = np.ones_like(general)
    for ladder in sorted({int(beliefs.ladder_of[column]) for column in columns}):
        mine = [
            place for place, column in enumerate(columns) if beliefs.ladder_of[column] == ladder
        ]
        args = [(columns[place], thresholds[place], extra_var[place]) for place in mine]
        if len(args) == 1:
            chance *= _one_above(beliefs, ladder, general, *args[0])
        else:
            chance *= _several_above(beliefs, ladder, general, args)
    return np.asarray(np.clip(chance @ ROOT_WEIGHTS, 0.0, 1.0))


def _one_above(
    beliefs: Beliefs, ladder: int, general: Floats, column: int, threshold: float, extra: float
) -> Floats:
    """Given general ability: exact, as z is then normal. Shape (athletes, nodes)."""
    up = 1.0 - beliefs.ladder_lag[:, ladder, None]
    skill = beliefs.given_ladder([column])
    down = 1.0 - skill.lag
    mean = down * (up * general + beliefs.ladder_shift[:, ladder, None])
    mean += skill.shift - threshold
    variance = down**2 * beliefs.ladder_var[:, ladder, None] + skill.var
    return np.asarray(ndtr(mean / np.sqrt(variance + extra)))


def _several_above(
    beliefs: Beliefs, ladder: int, general: Floats, args: list[tuple[int, float, float]]
) -> Floats:
    """Given general ability: integrate over the ladder that the skills share."""
    centre = (1.0 - beliefs.ladder_lag[:, ladder, None]) * general
    centre += beliefs.ladder_shift[:, ladder, None]
    sd = np.sqrt(beliefs.ladder_var[:, ladder, None, None])
    on_ladder = centre[:, :, None] + sd * LADDER_NODES
    chance = np.ones_like(on_ladder)
    for column, threshold, extra in args:
        skill = beliefs.given_ladder([column])
        mean = (1.0 - skill.lag[:, :, None]) * on_ladder + skill.shift[:, :, None] - threshold
        chance *= ndtr(mean / np.sqrt(skill.var[:, :, None] + extra))
    return np.asarray(chance @ LADDER_WEIGHTS)

"""The one yardstick that needs a library the engine does not have: gradient boosting on counts.

The others stand in ``progress.engine.yardsticks``, because the report card of a gym uses them too.
"""

import numpy as np
from sklearn.ensemble import HistGradientBoostingClassifier

from progress.engine.evidence import Flags
from progress.engine.outcomes import Floats
from progress.engine.yardsticks import Counted


def boosting(told: Counted, learning: Flags) -> Floats:
    """Chances of clean by boosted trees on the counts of successes and failures."""
    columns = np.hstack([told.who, told.at_skill, told.on_ladder, told.in_all])
    model = HistGradientBoostingClassifier(
        max_iter=150, learning_rate=0.05, max_leaf_nodes=15, random_state=1
    )
    model.fit(columns[learning], told.clean[learning])
    return np.asarray(model.predict_proba(columns)[:, 1])

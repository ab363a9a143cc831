"""Which shape stands for which result, state and decision.

Every one of them is shown as a shape of our own and a word, so nothing depends on colour. The
shapes lie in one sprite, ``progress/shapes.svg``; each name here is the id of a symbol in it.
"""

from dataclasses import dataclass

from progress.engine.terms import Decision, Result, SkillState
from progress.pages.shared import words


@dataclass(frozen=True)
class Mark:
    """A shape's id in the sprite and the word shown beside it."""

    shape: str
    word: str


RESULTS = {result: Mark(f"result-{result}", words.RESULT_WORDS[result]) for result in Result}
STATES = {state: Mark(f"state-{state}", words.STATE_WORDS[state]) for state in SkillState}
FAMILY_STATES = {
    state: Mark(f"state-{state}", words.FAMILY_STATE_WORDS[state]) for state in SkillState
}
DECISIONS = {
    decision: Mark(f"decision-{decision.replace('_', '-')}", words.DECISION_WORDS[decision])
    for decision in Decision
}
HOLD = Mark("hold", "On hold")
GATE = Mark("gate", "Safety skill")
CHECK = Mark("check", "Check")
MISSING = Mark("missing", "Not yet for this child")
GATE_NOT_HELD = Mark("gate", "Safety skill, not held yet")
HERE = Mark("here", "Here")
AWAY = Mark("away", "Away")
REFUSED = Mark("refused", "Not stored")

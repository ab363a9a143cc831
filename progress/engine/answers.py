"""What the engine answers: estimates, readiness, suggestions and next checks, always with why."""

from dataclasses import dataclass

from progress.engine.terms import Decision, SkillState


@dataclass(frozen=True)
class Estimate:
    """What the log says of one athlete at one skill on the day asked.

    ``chance`` is the probability that the next attempt is clean; ``low`` and ``high`` bound it
    with 90% probability. ``confidence`` is the probability that the chance meets the standard.
    ``attempts`` and the ``days`` they were made on are counted over the whole log, ``recent``
    attempts over the fresh days only. ``last`` is the venue's day number (``date.toordinal``) of
    the last attempt.
    ``held`` says whether the skill counts as held for the needs of other skills and variants.
    """

    athlete: str
    skill: str
    chance: float
    low: float
    high: float
    confidence: float
    attempts: int
    days: int
    recent: int
    last: int | None
    state: SkillState
    held: bool
    why: str


@dataclass(frozen=True)
class Readiness:
    """The suggestion about the next tier. ``next_tier`` is None at the top.

    ``p_ready`` is the joint probability that every required skill meets its standard.
    ``holding_back`` are skill codes, the weightiest first. ``reasons`` say why;
    ``would_change`` say what would change the answer.
    """

    athlete: str
    tier: int
    next_tier: int | None
    decision: Decision
    p_ready: float
    holding_back: tuple[str, ...]
    reasons: tuple[str, ...]
    would_change: tuple[str, ...]

    @property
    def why(self) -> str:
        """The reasons as one line."""
        return "; ".join(self.reasons)


@dataclass(frozen=True)
class Suggestion:
    """The variant for one athlete at one station of a loop; None where nothing fits today."""

    athlete: str
    loop: str
    station: str
    variant: str | None
    chance: float | None
    why: str


@dataclass(frozen=True)
class NextCheck:
    """One skill to check for one athlete at the next meeting; rank 1 comes first."""

    athlete: str
    skill: str
    rank: int
    gain: float
    why: str

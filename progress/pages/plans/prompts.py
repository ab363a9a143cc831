"""Safety prompts grouped by how serious they are; never a word that all is well."""

from collections.abc import Sequence
from dataclasses import dataclass

from progress.engine.safety_facts import Prompt, Severity
from progress.pages.plans.moved import Naming
from progress.usecases.see_class import ClassTonight

WORDS = {
    Severity.STOP: ("Stop", "Ask the lead before this is used; the lead gives the reason."),
    Severity.WARN: ("Look at this", "Look before the class, and decide."),
    Severity.INFO: ("Know this", ""),
}


@dataclass(frozen=True)
class NamedPrompt:
    """A prompt with the names of the station, the variants and the loops it is about."""

    prompt: Prompt
    station: str
    variants: tuple[str, ...]
    loops: tuple[str, ...]


@dataclass(frozen=True)
class PromptGroup:
    """The prompts of one severity, with its word and what it asks."""

    severity: Severity
    word: str
    asks: str
    prompts: tuple[NamedPrompt, ...]


def groups_of(tonight: ClassTonight, prompts: Sequence[Prompt]) -> list[PromptGroup]:
    """The most serious first; a severity nobody was prompted about has no group."""
    naming = Naming.of(tonight)
    groups = []
    for severity, (word, asks) in WORDS.items():
        mine = tuple(_named(naming, one) for one in prompts if one.severity is severity)
        if mine:
            groups.append(PromptGroup(severity, word, asks, mine))
    return groups


def _named(naming: Naming, prompt: Prompt) -> NamedPrompt:
    station = prompt.station or ""
    variants = tuple(str(naming.variants.get((station, code), code)) for code in prompt.variants)
    loops = tuple(naming.loop(code) for code in prompt.loops)
    return NamedPrompt(prompt, naming.station(station) if station else "", variants, loops)

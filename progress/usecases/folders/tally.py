"""What loading a folder did."""

from dataclasses import dataclass, field

from progress.usecases.folders.problems import some_of


@dataclass(frozen=True)
class Tally:
    """Rows of one file: newly stored, there already, and stored over what was there."""

    new: int = 0
    same: int = 0
    updated: int = 0


@dataclass
class Made:
    """Codes that only a mention brought into being, by what they are the code of."""

    codes: dict[str, set[str]] = field(default_factory=dict)

    def note(self, thing: str, codes: list[str]) -> None:
        """Note that these were made."""
        if codes:
            self.codes.setdefault(thing, set()).update(codes)

    def remarks(self) -> list[str]:
        """One sentence for each kind, so that a mistyped code is seen."""
        return [
            f"Made because named: {thing} {some_of(codes)}." for thing, codes in self.codes.items()
        ]

"""Steps, heights and times of stations in a coach's words."""

from collections.abc import Sequence

from progress.models import Variant


def step_words(step: int) -> str:
    """``base``, ``easier``, ``harder 2``."""
    if step == 0:
        return "base"
    word = "easier" if step < 0 else "harder"
    return word if abs(step) == 1 else f"{word} {abs(step)}"


def span(numbers: Sequence[float], unit: str) -> str:
    """``0.2 to 0.6 m``; one number alone where they are the same."""
    low, high = min(numbers), max(numbers)
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"


def variants_line(variants: Sequence[Variant]) -> str:
    """All of a station's variants in one line."""
    if not variants:
        return "No variant yet"
    parts = [f"{len(variants)} variant{'' if len(variants) == 1 else 's'}"]
    feet = [one.height_m for one in variants if one.height_m is not None]
    hands = [one.hand_height_m for one in variants if one.hand_height_m is not None]
    seconds = [one.seconds for one in variants if one.seconds is not None]
    if feet and max(feet) > 0:
        parts.append(f"feet {span(feet, 'm')}")
    if hands:
        parts.append(f"hands {span(hands, 'm')}")
    if seconds:
        parts.append(span(seconds, "s"))
    if any(one.spotter for one in variants):
        parts.append("spotter" if all(one.spotter for one in variants) else "spotter at some")
    return ", ".join(parts)


def variant_line(variant: Variant) -> str:
    """What one variant takes, after its name."""
    parts = []
    if variant.height_m is not None:
        parts.append(f"feet {variant.height_m:g} m")
    if variant.hand_height_m is not None:
        parts.append(f"hands {variant.hand_height_m:g} m")
    if variant.seconds is not None:
        parts.append(f"{variant.seconds:g} s")
    if variant.lanes > 1:
        parts.append(f"{variant.lanes} lanes")
    if variant.spotter:
        parts.append("spotter")
    if variant.minimum_age is not None:
        parts.append(f"from {variant.minimum_age:g} years")
    return ", ".join(parts)

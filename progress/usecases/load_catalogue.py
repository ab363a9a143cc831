"""Load a skill catalogue: tiers, ladders, skills with their look-fors and needs.

The source is plain JSON: ``tiers`` (number, name, minimum_age), ``ladders`` (code, name, order),
``skills`` (code, name, ladder, tier, look_fors, and optionally required, gate, needs, standard,
minimum_age, caution), ``stations``, a library of station designs for whoever plans a floor, and
``home_ideas`` (code, skill, text, caution), which no family sees before a lead marks them.
``note`` and ``about`` are for people and are not stored.
"""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model

from progress.engine import terms
from progress.models import HomeIdea, Ladder, LookFor, Skill, SkillNeed, Tier

Record = Mapping[str, Any]
PARTS = ("tiers", "ladders", "skills", "stations", "home_ideas")


class CatalogueRefused(ValueError):
    """The catalogue cannot be used. ``problems`` lists everything found; nothing was stored."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("The catalogue was not loaded: " + "; ".join(self.problems))


@dataclass(frozen=True)
class CatalogueLoaded:
    """How many records were added; ``kept`` are the skills that were there and stay as they are."""

    tiers: int
    ladders: int
    skills: int
    look_fors: int
    needs: int
    kept: tuple[str, ...]


def starter_catalogue() -> dict[str, Any]:
    """Return the catalogue a new gym can start from, as ``load_catalogue`` takes it."""
    path = Path(settings.FIXTURE_DIRS[0]) / "starter_catalogue.json"
    catalogue: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return catalogue


def load_catalogue(*, source: Record) -> CatalogueLoaded:
    """Store what is new in ``source`` and leave everything that is there as it is.

    A tier, ladder or skill whose number or code is known is kept whole, with its look-fors and
    needs, so that a lead's own edits outlive a second loading. Raises CatalogueRefused with every
    problem found; then nothing is stored.
    """
    source = {part: source.get(part, []) for part in PARTS}
    with transaction.atomic():
        refuse(shape_problems(source))
        refuse((*value_problems(source), *code_problems(source), *station_problems(source)))
        refuse_cycles(source["skills"])
        kept = tuple(Skill.objects.order_by("code").values_list("code", flat=True))
        fresh = [raw for raw in source["skills"] if raw["code"] not in kept]
        tiers = add_new(Tier, "number", map(tier_from, source["tiers"]))
        ladders = add_new(Ladder, "code", map(ladder_from, source["ladders"]))
        skills = add_new(Skill, "code", skills_from(fresh))
        add_new(HomeIdea, "code", ideas_from(source["home_ideas"]))
        named = {raw["code"] for raw in source["skills"]}
        return CatalogueLoaded(
            tiers=tiers,
            ladders=ladders,
            skills=skills,
            look_fors=add_look_fors(fresh),
            needs=add_needs(fresh),
            kept=tuple(code for code in kept if code in named),
        )


def refuse(problems: Iterable[str]) -> None:
    """Raise CatalogueRefused if there are any problems."""
    if found := tuple(problems):
        raise CatalogueRefused(found)


# Reading the source


def tier_from(raw: Record) -> Tier:
    """A tier, not stored yet."""
    return Tier(number=raw["number"], name=raw["name"], minimum_age=raw.get("minimum_age"))


def ladder_from(raw: Record) -> Ladder:
    """A ladder, not stored yet."""
    return Ladder(code=raw["code"], name=raw["name"], order=raw.get("order", 0))


def skill_from(raw: Record, ladder: Ladder | None = None) -> Skill:
    """A skill, not stored yet and without its look-fors and needs."""
    return Skill(
        code=raw["code"],
        name=raw["name"],
        ladder=ladder,
        tier_id=raw["tier"],
        required=raw.get("required", True),
        gate=raw.get("gate", False),
        standard=raw.get("standard", 0.80),
        minimum_age=raw.get("minimum_age"),
        caution=raw.get("caution", ""),
    )


def skills_from(fresh: Iterable[Record]) -> Iterator[Skill]:
    """Skills with their stored ladders; the ladders must be there by the time this is read."""
    ladders = {ladder.code: ladder for ladder in Ladder.objects.all()}
    for raw in fresh:
        yield skill_from(raw, ladders[raw["ladder"]])


def idea_from(raw: Record, skill: Skill | None = None) -> HomeIdea:
    """An idea for home, not stored yet and not marked as fit for home by anybody."""
    return HomeIdea(code=raw["code"], skill=skill, text=raw["text"], caution=raw["caution"])


def ideas_from(source: Iterable[Record]) -> Iterator[HomeIdea]:
    """Ideas with their stored skills; the skills must be there by the time this is read."""
    skills = {skill.code: skill for skill in Skill.objects.all()}
    for raw in source:
        yield idea_from(raw, skills[raw["skill"]])


# Finding problems


MUST_HAVE: dict[str, dict[str, type]] = {
    "tiers": {"number": int, "name": str},
    "ladders": {"code": str, "name": str},
    "skills": {"code": str, "name": str, "ladder": str, "tier": int, "look_fors": list},
    "stations": {"code": str, "name": str, "variants": list},
    "variants": {"code": str, "name": str, "step": int, "skill": str, "change": str},
    "home_ideas": {"code": str, "skill": str, "text": str, "caution": str},
}


def shape_problems(source: Record) -> Iterator[str]:
    """Say which parts are missing or of the wrong kind; later checks rely on none being so."""
    for part in PARTS:
        if not isinstance(source[part], list):
            yield f"{part}: a list is needed"
            continue
        for number, raw in enumerate(source[part], start=1):
            yield from entry_problems(f"{part}, entry {number}", raw, MUST_HAVE[part])


def entry_problems(where: str, raw: object, wanted: Mapping[str, type]) -> Iterator[str]:
    """Say what one entry, or a variant inside it, lacks."""
    if not isinstance(raw, Mapping):
        yield f"{where}: an object is needed"
        return
    for key, kind in wanted.items():
        if not isinstance(raw.get(key), kind):
            yield f"{where}: {key} is missing or not a {kind.__name__}"
    if not is_list_of_text(raw.get("needs", [])):
        yield f"{where}: needs must be a list of skill codes"
    if isinstance(raw.get("variants"), list):
        for number, variant in enumerate(raw["variants"], start=1):
            yield from entry_problems(f"{where}, variant {number}", variant, MUST_HAVE["variants"])


def is_list_of_text(value: object) -> bool:
    """Whether ``value`` is a list of strings."""
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def value_problems(source: Record) -> Iterator[str]:
    """Say which values the records would not take: too long, empty, out of range."""
    yield from field_problems("tier", "number", map(tier_from, source["tiers"]))
    yield from field_problems("ladder", "code", map(ladder_from, source["ladders"]))
    yield from field_problems("skill", "code", map(skill_from, source["skills"]))
    yield from field_problems("home idea", "code", map(idea_from, source["home_ideas"]))
    for raw in source["skills"]:
        for text in raw["look_fors"]:
            if not isinstance(text, str) or not 0 < len(text.strip()) <= 200:
                yield f"skill {raw['code']}: a look-for must have 1 to 200 characters"


def field_problems(word: str, key: str, records: Iterable[Model]) -> Iterator[str]:
    """Say what each record's own fields refuse, links to other records left out."""
    for record in records:
        links = [field.name for field in record._meta.fields if field.is_relation]
        try:
            record.clean_fields(exclude=links)
        except ValidationError as error:
            for field, messages in error.message_dict.items():
                yield f"{word} {getattr(record, key)}: {field}: {' '.join(messages)}"


def known_codes(source: Record) -> set[str]:
    """Codes of the skills in the source and in the gym."""
    return {raw["code"] for raw in source["skills"]} | set(
        Skill.objects.values_list("code", flat=True)
    )


def code_problems(source: Record) -> Iterator[str]:
    """Say which codes come twice and which name nothing that is known."""
    for part in PARTS:
        key = "number" if part == "tiers" else "code"
        counts = Counter(raw[key] for raw in source[part])
        yield from (f"{part}: {code} comes {n} times" for code, n in counts.items() if n > 1)
    tiers = {raw["number"] for raw in source["tiers"]} | set(
        Tier.objects.values_list("number", flat=True)
    )
    ladders = {raw["code"] for raw in source["ladders"]} | set(
        Ladder.objects.values_list("code", flat=True)
    )
    skills = known_codes(source)
    for raw in source["skills"]:
        if raw["tier"] not in tiers:
            yield f"skill {raw['code']}: there is no tier {raw['tier']}"
        if raw["ladder"] not in ladders:
            yield f"skill {raw['code']}: there is no ladder {raw['ladder']}"
        for need in raw.get("needs", ()):
            if need not in skills:
                yield f"skill {raw['code']}: needs {need}, which is not a known skill"
    for raw in source["home_ideas"]:
        if raw["skill"] not in skills:
            yield f"home idea {raw['code']}: {raw['skill']} is not a known skill"


def station_problems(source: Record) -> Iterator[str]:
    """Say which station designs name unknown skills or unknown changes, or repeat a step."""
    skills = known_codes(source)
    changes = {change.value for change in terms.Constraint}
    for station in source["stations"]:
        steps = Counter(variant["step"] for variant in station["variants"])
        yield from (
            f"station {station['code']}: step {step} comes {n} times"
            for step, n in steps.items()
            if n > 1
        )
        for variant in station["variants"]:
            if variant["skill"] not in skills:
                yield f"variant {variant['code']}: {variant['skill']} is not a known skill"
            if variant["change"] not in changes:
                yield f"variant {variant['code']}: {variant['change']} is not a kind of change"


def refuse_cycles(skills: Iterable[Record]) -> None:
    """Refuse needs that go in a circle.

    The source alone is looked at: a skill that is new here is not needed by any stored one, so no
    circle can lead through what is stored.
    """
    try:
        terms.refuse_cycle({raw["code"]: raw.get("needs", ()) for raw in skills})
    except terms.NeedsCycle as error:
        raise CatalogueRefused([str(error)]) from None


# Storing


def add_new(model: type[Model], key: str, records: Iterable[Model]) -> int:
    """Store the records whose ``key`` is not there yet; return how many."""
    rows = model._default_manager
    there = set(rows.values_list(key, flat=True))
    return len(rows.bulk_create([r for r in records if getattr(r, key) not in there]))


def add_look_fors(fresh: Iterable[Record]) -> int:
    """Store the look-fors of new skills in the order they are written."""
    skills = {skill.code: skill for skill in Skill.objects.all()}
    return len(
        LookFor.objects.bulk_create(
            LookFor(skill=skills[raw["code"]], order=order, text=text)
            for raw in fresh
            for order, text in enumerate(raw["look_fors"], start=1)
        )
    )


def add_needs(fresh: Iterable[Record]) -> int:
    """Store the needs of new skills; circles were refused before."""
    skills = {skill.code: skill for skill in Skill.objects.all()}
    return len(
        SkillNeed.objects.bulk_create(
            SkillNeed(skill=skills[raw["code"]], need=skills[need])
            for raw in fresh
            for need in dict.fromkeys(raw.get("needs", ()))
        )
    )

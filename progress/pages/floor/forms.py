"""Forms of a station and of a variant. What no floor can be is refused by the use cases."""

from collections.abc import Iterable
from typing import Any

from django import forms

from progress.models import (
    ConstraintChoice,
    Equipment,
    Mat,
    Skill,
    Station,
    StationKind,
    Variant,
)
from progress.pages.floor.words import step_words
from progress.usecases.floors import change_stations, change_variants

NOT_A_NUMBER = "Write a number, such as 0.4."
NOT_WHOLE = "Write a whole number, such as 2."
UNKNOWN = (("", "Not written down"), ("yes", "Yes"), ("no", "No"))


def metres(label: str, help_text: str = "") -> forms.FloatField:
    """A length that may be left empty."""
    return forms.FloatField(
        label=label,
        required=False,
        help_text=help_text,
        error_messages={"invalid": NOT_A_NUMBER},
        widget=forms.NumberInput(attrs={"step": "any", "min": "0", "inputmode": "decimal"}),
    )


def whole_number(label: str, help_text: str = "", *, least: int = 1) -> forms.IntegerField:
    """A count that may be left empty."""
    return forms.IntegerField(
        label=label,
        required=False,
        help_text=help_text,
        error_messages={"invalid": NOT_WHOLE},
        widget=forms.NumberInput(attrs={"min": str(least), "inputmode": "numeric"}),
    )


class StationForm(forms.Form):
    """What a station is, what lies under it and around it, and what it takes."""

    name = forms.CharField(
        max_length=120, error_messages={"required": "Give the station a short name."}
    )
    kind = forms.ChoiceField(choices=StationKind.choices)
    small_area = forms.BooleanField(label="For the youngest children's area", required=False)
    mat = forms.ChoiceField(label="Mat under it", choices=Mat.choices)
    mat_rated_m = metres("Fall height the mat's maker states, metres")
    mat_checked = forms.DateField(
        label="Mat last checked",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Write a day, such as 2026-03-02."},
    )
    clear_m = metres("Clear landing floor around it, metres")
    spacing_m = metres("Distance to the next station, metres")
    swing_m = metres("Free run each way of a swing, metres")
    space_m2 = metres("Floor it takes with its landing, square metres")
    way_down = forms.ChoiceField(
        label="Is there an easier way down than up?", choices=UNKNOWN, required=False
    )

    def __init__(self, data: Any = None, *, station: Station) -> None:
        self.equipment = list(Equipment.objects.all())
        facts = {name: getattr(station, name) for name in change_stations.FACTS}
        facts["way_down"] = {None: "", True: "yes", False: "no"}[station.way_down]
        taken = dict(station.equipment_links.values_list("equipment_id", "count"))
        counts = {f"equipment-{pk}": count for pk, count in taken.items()}
        super().__init__(data, initial=facts | counts)
        for one in self.equipment:
            self.fields[f"equipment-{one.pk}"] = whole_number(str(one), least=0)

    def clean_way_down(self) -> bool | None:
        """Yes, no, or not written down."""
        answers: dict[str, bool | None] = {"yes": True, "no": False}
        return answers.get(self.cleaned_data["way_down"])

    def facts(self) -> dict[str, Any]:
        """What the use case takes."""
        return {name: self.cleaned_data[name] for name in change_stations.FACTS}

    def counts(self) -> dict[int, int]:
        """How many of which equipment."""
        sent = {one.pk: self.cleaned_data[f"equipment-{one.pk}"] for one in self.equipment}
        return {pk: min(max(count or 0, 0), 1000) for pk, count in sent.items()}

    @property
    def first_fields(self) -> list[forms.BoundField]:
        """What is asked first."""
        return [self[name] for name in ("name", "kind", "small_area")]

    @property
    def around_fields(self) -> list[forms.BoundField]:
        """What lies under it and around it."""
        first = {"name", "kind", "small_area"}
        return [self[name] for name in self.fields if name not in first and "-" not in name]

    @property
    def equipment_fields(self) -> list[forms.BoundField]:
        """One number for each kind of equipment the hall has."""
        return [self[f"equipment-{one.pk}"] for one in self.equipment]


class VariantForm(forms.Form):
    """One way to set a station up."""

    name = forms.CharField(
        label="What it is",
        max_length=200,
        help_text="Such as “Narrow beam, 30 cm up”.",
        error_messages={"required": "Say in a few words how it is set up."},
    )
    step = forms.TypedChoiceField(
        coerce=int,
        choices=[(step, f"{step:+d} {step_words(step)}") for step in change_variants.STEPS],
        initial=0,
        error_messages={"invalid_choice": "Choose a step from the list."},
    )
    skill = forms.ChoiceField(
        label="Skill it practises",
        error_messages={
            "required": "Choose the skill it practises.",
            "invalid_choice": "This skill is not in the catalogue. Choose one from the list.",
        },
    )
    change = forms.ChoiceField(
        label="What makes it easier or harder",
        required=False,
        choices=[("", "Nothing in particular"), *ConstraintChoice.choices],
    )
    height_m = metres("Feet above landing, metres")
    hand_height_m = metres("Hands above landing, metres", "Only where the child hangs.")
    spotter = forms.BooleanField(label="An adult stands here as spotter", required=False)
    lanes = whole_number("Lanes: how many go at once")
    seconds = metres("Seconds for one turn")
    places = whole_number("Most children on it in one class")
    minimum_age = metres("Youngest age, years")
    caution = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(
        self, data: Any = None, *, variant: Variant | None, free_steps: Iterable[int]
    ) -> None:
        skills = Skill.objects.select_related("ladder", "tier")
        self.skills = {skill.code: skill for skill in skills}
        initial: dict[str, Any] = {"step": next(iter(free_steps), 0), "lanes": 1}
        if variant:
            initial = {name: getattr(variant, name) for name in change_variants.FACTS}
            initial["skill"] = variant.skill.code
        super().__init__(data, initial=initial)
        groups: dict[str, list[tuple[str, str]]] = {}
        for skill in self.skills.values():
            groups.setdefault(str(skill.ladder), []).append((skill.code, str(skill)))
        skill_field = self.fields["skill"]
        assert isinstance(skill_field, forms.ChoiceField)
        skill_field.choices = [("", "Choose one"), *groups.items()]

    def clean_lanes(self) -> int:
        """One lane where none is named."""
        lanes = self.cleaned_data["lanes"]
        return 1 if lanes is None else int(lanes)

    def facts(self) -> dict[str, Any]:
        """What the use case takes."""
        facts = {name: self.cleaned_data[name] for name in change_variants.FACTS}
        return facts | {"skill": self.skills.get(self.cleaned_data["skill"])}

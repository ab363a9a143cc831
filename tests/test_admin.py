"""The admin: every record can be found and opened, however large the gym, and the log is kept."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.contrib import admin
from django.contrib.auth.models import User
from django.db import connection
from django.db.models import ManyToManyField, Model
from django.forms import HiddenInput
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress import models
from progress.models import Athlete, Attempt, GymClass, Skill, SkillNeed, StaffMember
from tests import makers
from tests.filled_gym import fill

ADMINS = {m: a for m, a in admin.site._registry.items() if m._meta.app_label == "progress"}
FAMILIES = [models.FamilyLink, models.FamilyCode, models.Consent, models.ErasureRequest]
LEARNT = [models.RuleBook, models.SkillChange, models.Calibration]
KEPT = [*LEARNT, models.SignOff, models.MailSent, *FAMILIES]
MADE_ELSEWHERE = [*KEPT, models.RegisterEntry, models.Standing]
LONG_LISTS = {
    *(models.Athlete, models.Skill, models.StaffMember, models.GymClass, models.Variant),
    *(models.Guardian, models.Meeting, models.Attempt, User),
}
MOST_QUESTIONS = 25


def name_of(model: type[Model]) -> str:
    return str(model._meta.model_name)


def page(model: type[Model], which: str, *args: Any) -> str:
    """The address of one of a record's admin pages."""
    return reverse(f"admin:progress_{name_of(model)}_{which}", args=args)


def inlines() -> Iterator[tuple[type[Model], Any]]:
    """Every kind of row inside another record's page, with that record."""
    for model, model_admin in ADMINS.items():
        for inline in model_admin.inlines:
            yield model, inline(model, admin.site)


def searches() -> list[tuple[type[Model], str]]:
    """Every search box: the record and its field."""
    boxes = {(model, field) for model, one in ADMINS.items() for field in one.autocomplete_fields}
    boxes |= {(one.model, field) for _, one in inlines() for field in one.autocomplete_fields}
    return sorted(boxes, key=lambda box: (name_of(box[0]), box[1]))


def search_address(model: type[Model], field: str) -> str:
    asked = f"app_label=progress&model_name={name_of(model)}&field_name={field}"
    return f"{reverse('admin:autocomplete')}?{asked}&term=1"


def questions(client: Client, address: str) -> int:
    """How many questions the page puts to the database; it must open."""
    with CaptureQueriesContext(
        connection,
    ) as captured:
        response = client.get(address)
    assert response.status_code == 200, address
    return len(captured)


def pages_of(model: type[Model]) -> dict[str, str]:
    """The pages of a record that a superuser may open; the first row is the one looked at."""
    first = model._default_manager.order_by("pk")[0]
    found = {
        "list": page(model, "changelist"),
        "search": page(model, "changelist") + "?q=1",
        "one": page(model, "change", first.pk),
    }
    return found if model in MADE_ELSEWHERE else found | {"add": page(model, "add")}


def errors(response: HttpResponse) -> str:
    """Everything the forms on the page complain about, as text."""
    context: Any = response.context  # type: ignore[attr-defined]
    rows = [formset.formset.errors for formset in context["inline_admin_formsets"]]
    return f"{context['adminform'].form.errors} {rows}"


class TestAGymOfAnySize:
    @pytest.mark.parametrize("model", ADMINS, ids=name_of)
    def test_every_page_asks_as_little_of_300_rows_as_of_30(
        self, admin_client: Client, model: type[Model]
    ) -> None:
        fill(0, 30)
        for address in pages_of(model).values():
            admin_client.get(address)  # what is looked up once for good is not what is measured
        few = {name: questions(admin_client, where) for name, where in pages_of(model).items()}
        fill(30, 300)
        many = {name: questions(admin_client, where) for name, where in pages_of(model).items()}
        assert many == few
        assert max(many.values()) <= MOST_QUESTIONS

    @pytest.mark.parametrize(
        ("model", "field"),
        searches(),
        ids=lambda one: one if isinstance(one, str) else name_of(one),
    )
    def test_every_search_box_finds_a_first_page(
        self, admin_client: Client, model: type[Model], field: str
    ) -> None:
        fill(0, 60)
        address = search_address(model, field)
        answer = admin_client.get(address).json()
        assert answer["results"], "nothing was found"
        assert len(answer["results"]) <= 20
        assert questions(admin_client, address) <= 5

    def test_a_search_box_tells_two_children_of_one_name_apart(self, admin_client: Client) -> None:
        for code in ("ada-1", "ada-2"):
            makers.make_athlete(code, name="Ada")
        found = admin_client.get(search_address(Attempt, "athlete")[:-1] + "ada").json()["results"]
        assert [one["text"] for one in found] == ["Ada (ada-1)", "Ada (ada-2)"]

    def test_every_record_has_its_place(self) -> None:
        inside = {inline.model for _, inline in inlines()}
        ours = set(apps.get_app_config("progress").get_models())
        assert ours - set(ADMINS) - inside == set()

    def test_nobody_scrolls_through_a_long_list_to_choose(self) -> None:
        """A plain select of 2,000 athletes would be sent with every page."""
        forms = [(one, None) for one in ADMINS.values()] + [(one, of) for of, one in inlines()]
        for one, parent in forms:
            given = {*one.autocomplete_fields, *one.raw_id_fields, *one.readonly_fields}
            for field in (*one.model._meta.fields, *one.model._meta.many_to_many):
                if field.related_model not in LONG_LISTS or type(one) in {
                    type(ADMINS[model]) for model in KEPT
                }:
                    continue
                through = isinstance(field, ManyToManyField) and not through_is_made(field)
                up = parent is not None and field.related_model is parent
                assert field.name in given or through or up, f"{one}: {field.name}"


def through_is_made(field: ManyToManyField) -> bool:
    return bool(field.remote_field.through._meta.auto_created)


class TestTheLogIsKept:
    @pytest.fixture
    def attempt(self, cy: Athlete, small_catalogue: dict[str, Skill]) -> Attempt:
        """Cy, landing, clean."""
        return makers.make_attempt(cy, small_catalogue["LAND-1"])

    def test_an_attempt_can_be_read_and_not_changed(
        self, admin_client: Client, attempt: Attempt
    ) -> None:
        address = page(Attempt, "change", attempt.pk)
        assert b"Land still on two feet" in admin_client.get(address).content
        assert admin_client.post(address, {"result": "miss"}).status_code == 403
        assert admin_client.post(page(Attempt, "delete", attempt.pk)).status_code == 403

    def test_attempts_cannot_be_deleted_from_the_list(
        self, admin_client: Client, attempt: Attempt
    ) -> None:
        chosen = {"action": "delete_selected", "_selected_action": [attempt.pk], "post": "yes"}
        admin_client.post(page(Attempt, "changelist"), chosen)
        assert Attempt.objects.get() == attempt

    def test_the_list_says_what_no_longer_counts(
        self, admin_client: Client, attempt: Attempt
    ) -> None:
        makers.make_correction(attempt, "miss")
        rows = admin_client.get(page(Attempt, "changelist")).context["cl"].result_list
        counts = ADMINS[Attempt].counts  # type: ignore[attr-defined]
        assert [counts(row) for row in rows] == [True, False]

    @pytest.mark.parametrize("model", MADE_ELSEWHERE, ids=name_of)
    def test_decisions_and_registers_are_not_made_here(
        self, admin_client: Client, model: type[Model]
    ) -> None:
        assert admin_client.get(page(model, "add")).status_code == 403

    @pytest.mark.parametrize("model", KEPT, ids=name_of)
    def test_decisions_are_neither_changed_nor_deleted(
        self, admin_client: Client, model: type[Model]
    ) -> None:
        fill(0, 10)
        first = model._default_manager.order_by("pk")[0]
        assert admin_client.get(page(model, "change", first.pk)).status_code == 200
        for which in ("change", "delete"):
            assert admin_client.post(page(model, which, first.pk)).status_code == 403


class TestAddingAnAttempt:
    @pytest.fixture
    def filled_in(
        self, cy: Athlete, small_catalogue: dict[str, Skill], admin_client: Client
    ) -> Any:
        """The form as the admin makes it, filled in for Cy."""
        form = admin_client.get(page(Attempt, "add")).context["adminform"].form
        assert isinstance(form.fields["uid"].widget, HiddenInput)
        return {
            "uid": form.initial["uid"],
            "athlete": cy.pk,
            "skill": small_catalogue["LAND-1"].pk,
            "at_0": "2026-03-02",
            "at_1": "16:30",
            "result": "clean",
        }

    def test_stores_it_once_even_if_sent_twice(self, admin_client: Client, filled_in: Any) -> None:
        assert admin_client.post(page(Attempt, "add"), filled_in).status_code == 302
        again = admin_client.post(page(Attempt, "add"), filled_in)
        assert "already exists" in errors(again)
        assert Attempt.objects.get().uid == filled_in["uid"]

    def test_each_form_has_an_id_of_its_own(self, admin_client: Client, filled_in: Any) -> None:
        other = admin_client.get(page(Attempt, "add")).context["adminform"].form.initial["uid"]
        assert other != filled_in["uid"]

    def test_a_correction_has_to_say_why(self, admin_client: Client, filled_in: Any) -> None:
        first = makers.make_attempt(Athlete.objects.get(), Skill.objects.get(code="LAND-1"))
        correction = filled_in | {"supersedes": first.pk}
        assert "correction_says_why" in errors(admin_client.post(page(Attempt, "add"), correction))
        correction["reason"] = "Wrong child."
        assert admin_client.post(page(Attempt, "add"), correction).status_code == 302
        assert list(Attempt.objects.standing()) == [Attempt.objects.get(supersedes=first)]

    def test_the_coach_is_whoever_is_signed_in(self, coach: StaffMember) -> None:
        assert coach.user is not None
        coach.user.is_staff = coach.user.is_superuser = True
        coach.user.save()
        client = Client()
        client.force_login(coach.user)
        form = client.get(page(Attempt, "add")).context["adminform"].form
        assert form.initial["coach"] == coach.pk


def rows(prefix: str, *given: dict[str, Any], stored: int = 0) -> dict[str, Any]:
    """The rows of one inline as a browser sends them."""
    counts = {"TOTAL_FORMS": len(given), "INITIAL_FORMS": stored}
    sent = {f"{prefix}-{name}": value for name, value in counts.items()}
    return sent | {f"{prefix}-{n}-{k}": v for n, row in enumerate(given) for k, v in row.items()}


class TestRowsThatDoNotFit:
    def skill_form(self, skill: Skill, *needs: dict[str, Any]) -> dict[str, Any]:
        own = {"code": skill.code, "name": skill.name, "standard": 0.8, "required": "on"}
        where = {"ladder": skill.ladder.pk, "tier": skill.tier.number}
        return own | where | rows("look_fors") | rows("need_links", *needs)

    def test_needs_in_a_circle_are_told_beside_the_need(
        self, admin_client: Client, small_catalogue: dict[str, Skill]
    ) -> None:
        hang_1, hang_3 = small_catalogue["HANG-1"], small_catalogue["HANG-3"]
        hang_1.code = "HANG-A"  # renamed in the same form
        sent = self.skill_form(hang_1, {"skill": hang_1.pk, "need": hang_3.pk})
        response = admin_client.post(page(Skill, "change", hang_1.pk), sent)
        assert response.status_code == 200
        assert "needs go in a circle" in errors(response)
        assert not SkillNeed.objects.filter(skill=hang_1).exists()

    def test_a_need_that_is_no_skill_is_an_error_on_the_form(
        self, admin_client: Client, small_catalogue: dict[str, Skill]
    ) -> None:
        hang_1 = small_catalogue["HANG-1"]
        sent = self.skill_form(hang_1, {"skill": hang_1.pk, "need": 999_999})
        response = admin_client.post(page(Skill, "change", hang_1.pk), sent)
        assert response.status_code == 200
        assert "Select a valid choice" in errors(response)

    def test_a_new_skill_is_stored_with_its_needs(
        self, admin_client: Client, small_catalogue: dict[str, Skill]
    ) -> None:
        new = Skill(code="NEW-1", name="New", ladder=small_catalogue["HANG-1"].ladder)
        new.tier = small_catalogue["HANG-1"].tier
        sent = self.skill_form(new, {"need": small_catalogue["HANG-1"].pk})
        assert admin_client.post(page(Skill, "add"), sent).status_code == 302
        assert [need.code for need in Skill.objects.get(code="NEW-1").needs.all()] == ["HANG-1"]

    def test_a_register_asks_about_an_athlete_of_another_class(
        self, admin_client: Client, monday_class: GymClass, cy: Athlete
    ) -> None:
        meeting = makers.make_meeting(monday_class)
        address = page(models.Meeting, "change", meeting.pk)
        about = {"gym_class": monday_class.pk, "day": meeting.day}
        entry = {"meeting": meeting.pk, "athlete": cy.pk, "present": "on"}
        response = admin_client.post(address, about | rows("register", entry))
        assert "Not enrolled in this class on that day." in errors(response)

    def test_a_loop_offers_the_stations_of_its_own_floor(
        self, admin_client: Client, floor: models.Setup
    ) -> None:
        makers.make_station(makers.make_setup(), "elsewhere")
        response = admin_client.get(page(models.Loop, "change", floor.loops.get().pk))
        (stops,) = response.context["inline_admin_formsets"]
        offered = [label for _, label in stops.formset.empty_form.fields["station"].choices]
        assert offered[1:] == ["Bars", "Jump down"]

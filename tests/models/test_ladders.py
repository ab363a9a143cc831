"""The skill catalogue: needs never go in a circle, and the engine reads it whole."""

import pytest
from django.core.exceptions import ValidationError
from django.db.models import ProtectedError
from pytest_django import DjangoAssertNumQueries

from progress.engine import terms
from progress.models import Ladder, LookFor, Skill, SkillNeed, Tier
from progress.models.ladders import refuse_cycle
from tests import makers
from tests.models.conftest import Refusal


class TestWhatTheDatabaseRefuses:
    @pytest.mark.parametrize("model", [Ladder, Skill])
    def test_a_code_is_used_once(
        self, small_catalogue: dict[str, Skill], model: type[Ladder | Skill], refused: Refusal
    ) -> None:
        first = model.objects.order_by("pk")[0]
        again = model.objects.get(pk=first.pk)
        again.pk = None
        with refused(model, "code"):
            model.objects.bulk_create([again])

    def test_a_tier_number_is_used_once(self, tiers: dict[int, Tier], refused: Refusal) -> None:
        with refused(Tier, "number"):
            Tier.objects.bulk_create([Tier(number=2, name="Another")])

    def test_tiers_count_from_one(self, refused: Refusal) -> None:
        with refused(Tier, "tier_counts_from_one"):
            Tier.objects.bulk_create([Tier(number=0, name="Nought")])

    @pytest.mark.parametrize("standard", [0.0, 1.0, 80.0])
    def test_a_standard_is_a_chance(self, standard: float, refused: Refusal) -> None:
        ladder, tier = makers.make_ladder(), makers.make_tier()
        with refused(Skill, "skill_standard_is_a_chance"):
            Skill.objects.bulk_create(
                [Skill(code="S", name="S", ladder=ladder, tier=tier, standard=standard)]
            )

    def test_look_fors_have_an_order(
        self, small_catalogue: dict[str, Skill], refused: Refusal
    ) -> None:
        skill = small_catalogue["LAND-1"]
        with refused(LookFor, "look_for_order"):
            LookFor.objects.bulk_create([LookFor(skill=skill, order=1, text="Arms forward")])

    def test_a_need_is_named_once(
        self, small_catalogue: dict[str, Skill], refused: Refusal
    ) -> None:
        link = SkillNeed.objects.all()[0]
        with refused(SkillNeed, "need_named_once"):
            SkillNeed.objects.bulk_create([SkillNeed(skill=link.skill, need=link.need)])

    def test_a_skill_does_not_need_itself(
        self, small_catalogue: dict[str, Skill], refused: Refusal
    ) -> None:
        skill = small_catalogue["LAND-1"]
        with refused(SkillNeed, "skill_needs_not_itself"):
            SkillNeed.objects.bulk_create([SkillNeed(skill=skill, need=skill)])

    @pytest.mark.parametrize("of", ["ladder", "tier"])
    def test_what_skills_stand_on_cannot_be_deleted(
        self, small_catalogue: dict[str, Skill], of: str
    ) -> None:
        with pytest.raises(ProtectedError):
            getattr(small_catalogue["LAND-1"], of).delete()


class TestNeeds:
    def test_saving_a_need_that_closes_a_circle_is_refused(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        """HANG-3 needs HANG-2 needs HANG-1, so HANG-1 must not need HANG-3."""
        closing = SkillNeed(skill=small_catalogue["HANG-1"], need=small_catalogue["HANG-3"])
        with pytest.raises(ValidationError, match="needs go in a circle") as caught:
            closing.save()
        assert {"HANG-1", "HANG-2", "HANG-3"} <= set(caught.value.messages[0].split())
        assert not small_catalogue["HANG-1"].needs.exists()

    def test_the_shortest_circles_are_refused_too(self, small_catalogue: dict[str, Skill]) -> None:
        land_1, land_2 = small_catalogue["LAND-1"], small_catalogue["LAND-2"]
        for skill, need in ((land_1, land_2), (land_1, land_1)):
            with pytest.raises(ValidationError, match="circle"):
                SkillNeed.objects.create(skill=skill, need=need)

    def test_changing_a_need_is_looked_at_without_the_old_one(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        """LAND-2 needs LAND-1; turned round, only the new need is there, and all is well."""
        link = SkillNeed.objects.get(skill=small_catalogue["LAND-2"])
        link.skill, link.need = link.need, link.skill
        link.save()
        assert list(small_catalogue["LAND-1"].needs.all()) == [small_catalogue["LAND-2"]]

    def test_two_ways_to_the_same_skill_are_no_circle(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        SkillNeed.objects.create(skill=small_catalogue["HANG-3"], need=small_catalogue["HANG-1"])
        assert small_catalogue["HANG-3"].needs.count() == 2

    def test_a_renamed_skill_is_still_the_same_skill(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        hang_1 = small_catalogue["HANG-1"]
        hang_1.code = "HANG-A"
        with pytest.raises(ValidationError, match="circle"):
            SkillNeed(skill=hang_1, need=small_catalogue["HANG-3"]).clean()

    def test_a_form_without_a_skill_or_a_need_is_not_asked_about_circles(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        SkillNeed(skill=small_catalogue["HANG-1"]).clean()
        SkillNeed(skill=Skill(code="NEW"), need=small_catalogue["HANG-1"]).clean()

    def test_writers_of_many_rows_can_ask_first(self) -> None:
        refuse_cycle([("C", "B"), ("B", "A"), ("C", "A")])
        with pytest.raises(terms.NeedsCycle):
            refuse_cycle([("C", "B"), ("B", "A"), ("A", "C")])


class TestInTheWordsOfTheEngine:
    def test_a_skill_keeps_everything_that_changes_an_answer(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        skill = makers.make_skill(
            "HANG-4",
            ladder="hanging",
            tier=2,
            name="Swing",
            required=False,
            gate=True,
            standard=0.9,
            minimum_age=6.5,
            needs=(small_catalogue["HANG-2"], small_catalogue["HANG-1"]),
        )
        assert Skill.objects.get(pk=skill.pk).as_term() == terms.Skill(
            code="HANG-4",
            ladder="hanging",
            tier=2,
            name="Swing",
            required=False,
            gate=True,
            standard=0.9,
            minimum_age=6.5,
            needs=("HANG-1", "HANG-2"),
        )

    def test_the_catalogue_goes_by_ladder_then_tier_then_code(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("AAA", ladder="landing", tier=2)
        codes = [skill.code for skill in Skill.objects.all().as_catalogue().skills]
        assert codes == ["LAND-1", "AAA", "LAND-2", "HANG-1", "HANG-2", "HANG-3"]

    def test_the_whole_catalogue_takes_a_few_questions_however_long_it_is(
        self,
        small_catalogue: dict[str, Skill],
        django_assert_max_num_queries: DjangoAssertNumQueries,
    ) -> None:
        for _ in range(20):
            makers.make_skill(needs=(small_catalogue["LAND-1"],))
        with django_assert_max_num_queries(3):
            assert len(Skill.objects.all().as_catalogue().skills) == 25


def test_records_read_plainly(small_catalogue: dict[str, Skill]) -> None:
    skill = small_catalogue["LAND-2"]
    assert [str(skill), str(skill.ladder), str(skill.tier)] == [
        "Land from knee height",
        "Landing",
        "Tier 2",
    ]
    assert str(skill.need_links.get()) == "Land from knee height needs Land still on two feet"
    assert str(small_catalogue["LAND-1"].look_fors.first()) == "Knees bend"

"""The lead moves athletes up: all of a sending or none, with what the engine said kept."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.parameters import VERSION
from progress.engine.terms import Decision
from progress.models import Athlete, RuleBook, SignOff, Skill, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym, week_start
from progress.usecases.know_athletes import know_athletes
from progress.usecases.sign_offs import sign_off as sign_off_file
from progress.usecases.sign_offs.refused import (
    EngineSaysOtherwise,
    MovedMeanwhile,
    SignOffRefused,
)
from progress.usecases.sign_offs.sign_off import MOST_AT_ONCE, Seen
from tests import makers
from tests.usecases.sign_offs.conftest import NOW, SENTENCE, Moving, make_like_ada

pytestmark = pytest.mark.django_db


def tier_of(athlete: Athlete) -> int:
    return Athlete.objects.get(pk=athlete.pk).tier_id


class TestMoving:
    def test_the_athlete_is_in_the_next_tier_and_the_decision_says_why_and_by_whom(
        self, ada: Athlete, lead: StaffMember, move: Moving, told: list[set[int]]
    ) -> None:
        [row] = move(ada, sentence="  Steady\n on both. ")

        assert tier_of(ada) == 2
        stored = SignOff.objects.get()
        assert stored.pk == row.pk
        assert (stored.from_tier_id, stored.to_tier_id) == (1, 2)
        assert (stored.decided_by, stored.decided_at) == (lead, NOW)
        assert (stored.sentence, stored.although) == ("Steady on both.", "")
        assert not stored.stays
        assert told == [{ada.pk}]

    def test_many_are_moved_in_one_go_in_the_order_given(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
        move: Moving,
        told: list[set[int]],
    ) -> None:
        others = [make_like_ada(code, small_catalogue, coach, lead) for code in ("zoe", "abe")]

        rows = move(others[0], ada, others[1], stays={"abe"})

        assert [row.athlete.code for row in rows] == ["zoe", "ada", "abe"]
        assert [row.stays for row in rows] == [False, False, True]
        assert {tier_of(one) for one in (ada, *others)} == {2}
        assert told == [{one.pk for one in (ada, *others)}]

    def test_the_same_athlete_named_twice_moves_once(self, ada: Athlete, move: Moving) -> None:
        assert len(move(ada, ada, seen={"ada": Seen(1, Decision.READY)})) == 1
        assert tier_of(ada) == 2

    def test_a_sentence_of_ones_own_goes_before_the_one_for_all(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
        move: Moving,
    ) -> None:
        zoe = make_like_ada("zoe", small_catalogue, coach, lead)

        rows = move(ada, zoe, sentences={"zoe": "Holds everything.", "ada": "  "})

        assert [row.sentence for row in rows] == [SENTENCE, "Holds everything."]
        with pytest.raises(SignOffRefused) as refused:
            move(make_like_ada("abe", small_catalogue, coach, lead), sentence="")
        assert set(refused.value.problems) == {"sentence"}

    def test_nearly_and_needs_checks_may_be_moved_with_the_sentence_alone(
        self, ada: Athlete, move: Moving, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("RUN-1", ladder="running")  # never checked, and no gate

        [row] = move(ada)

        assert row.engine_said["decision"] == Decision.NEEDS_CHECKS
        assert row.although == ""

    def test_building_asks_for_a_reason_of_its_own(self, eve: Athlete, move: Moving) -> None:
        for reason in ("", "because so", SENTENCE, "x " * 200):
            with pytest.raises(SignOffRefused) as refused:
                move(eve, although={"eve": reason})
            assert set(refused.value.problems) == {"although:eve"}, reason
            assert tier_of(eve) == 1
            assert not SignOff.objects.exists()

        [row] = move(eve, although={"eve": " Hangs well  elsewhere. "})

        assert (row.although, row.engine_said["decision"]) == ("Hangs well elsewhere.", "building")

    def test_a_reason_is_kept_only_where_the_engine_says_building(
        self, ada: Athlete, move: Moving
    ) -> None:
        [row] = move(ada, although={"ada": "Nothing asks for this."})
        assert row.although == ""

    @pytest.mark.parametrize("sentence", ["", "  \n ", "x" * 301])
    def test_no_sentence_or_a_long_one_moves_nobody(
        self, ada: Athlete, move: Moving, sentence: str
    ) -> None:
        with pytest.raises(SignOffRefused) as refused:
            move(ada, sentence=sentence)
        assert set(refused.value.problems) == {"sentence"}
        assert tier_of(ada) == 1

    def test_only_a_lead_in_service_may(
        self, ada: Athlete, coach: StaffMember, lead: StaffMember, move: Moving
    ) -> None:
        lead.active = False
        for person in (coach, lead, makers.make_staff(role="desk")):
            with pytest.raises(SignOffRefused, match="Only the programme lead"):
                move(ada, lead=person)
        assert tier_of(ada) == 1

    def test_nobody_and_too_many_at_once_are_refused(
        self, small_catalogue: dict[str, Skill], move: Moving
    ) -> None:
        with pytest.raises(SignOffRefused, match="at least one"):
            move(seen={})
        many = [makers.make_athlete() for _ in range(MOST_AT_ONCE + 1)]
        with pytest.raises(SignOffRefused, match="not 61"):
            move(*many, seen={})

    def test_somebody_deleted_meanwhile_is_said(self, cy: Athlete, move: Moving) -> None:
        gone = Athlete(pk=cy.pk + 1000, code="gone")
        with pytest.raises(SignOffRefused, match="no longer on record"):
            move(cy, gone, seen={})


class TestTheSecondOfTwo:
    def test_a_double_tap_moves_once_and_names_who_moved_them_when(
        self, ada: Athlete, move: Moving
    ) -> None:
        seen = {"ada": Seen(1, Decision.READY)}
        [first] = move(ada, seen=seen)

        with pytest.raises(MovedMeanwhile) as meanwhile:
            move(ada, seen=seen)

        assert meanwhile.value.by == {ada: first}
        assert tier_of(ada) == 2
        assert SignOff.objects.count() == 1

    def test_one_moved_meanwhile_keeps_the_whole_sending_back(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
        move: Moving,
    ) -> None:
        zoe = make_like_ada("zoe", small_catalogue, coach, lead)
        seen = {code: Seen(1, Decision.READY) for code in ("ada", "zoe")}
        Athlete.objects.filter(pk=ada.pk).update(tier=2)

        with pytest.raises(MovedMeanwhile) as meanwhile:
            move(zoe, ada, seen=seen)

        assert meanwhile.value.by == {ada: None}
        assert tier_of(zoe) == 1

    def test_a_tier_changed_between_looking_and_storing_stores_nothing(
        self, ada: Athlete, move: Moving, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As on a database whose lock did not hold: the tier is changed only from the one seen."""
        looked_at = sign_off_file.look_at

        def look_and_be_overtaken(**values: Any) -> Any:
            cases = looked_at(**values)
            Athlete.objects.filter(pk=ada.pk).update(tier=2)
            return cases

        monkeypatch.setattr(sign_off_file, "look_at", look_and_be_overtaken)
        with pytest.raises(MovedMeanwhile):
            move(ada, seen={"ada": Seen(1, Decision.READY)})
        assert not SignOff.objects.exists()

    @pytest.mark.parametrize("seen", [{}, {"ada": Seen(1, Decision.NEARLY)}])
    def test_what_the_lead_did_not_see_is_asked_again(
        self, ada: Athlete, move: Moving, seen: dict[str, Seen]
    ) -> None:
        with pytest.raises(EngineSaysOtherwise) as otherwise:
            move(ada, seen=seen)
        assert otherwise.value.now == {"ada": Decision.READY}
        assert tier_of(ada) == 1

    def test_tries_recorded_after_the_form_was_opened_ask_again(
        self, ada: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember, move: Moving
    ) -> None:
        makers.make_attempts(
            ada, small_catalogue["HANG-1"], ["assisted"] * 2, days=[makers.TODAY], coaches=[coach]
        )
        with pytest.raises(EngineSaysOtherwise):
            move(ada, seen={"ada": Seen(1, Decision.READY)})
        assert not SignOff.objects.exists()


class TestWhatIsKept:
    def test_the_snapshot_holds_what_the_engine_says_now(self, ada: Athlete, move: Moving) -> None:
        RuleBook.objects.create(version=7, values={})
        known = know_athletes(athletes=[ada], today=makers.TODAY)
        says, land = known.readiness[0], known.estimates(0)["LAND-1"]

        [row] = move(ada)

        said = SignOff.objects.get().snapshot()
        assert (row.engine_version, row.rules_version) == (VERSION, 7)
        assert said["as_of"] == "2026-03-02"
        assert said["calibration_cutoff"] == week_start(makers.TODAY).isoformat()
        assert (said["tier"], said["next_tier"], said["decision"]) == (1, 2, "ready")
        assert said["p_ready"] == pytest.approx(says.p_ready, abs=1e-4)
        assert said["reasons"] == list(says.reasons)
        assert said["would_change"] == list(says.would_change)
        assert said["holding_back"] == []
        assert [one["skill"] for one in said["skills"]] == ["LAND-1", "HANG-1"]
        kept = said["skills"][0]
        assert kept["chance"] == pytest.approx(land.chance, abs=1e-4)
        assert kept["low"] == pytest.approx(land.low, abs=1e-4)
        assert kept["high"] == pytest.approx(land.high, abs=1e-4)
        assert (kept["state"], kept["attempts"], kept["days"]) == ("secure", 8, 4)
        assert (kept["last"], kept["standard"]) == ("2026-02-23", 0.8)
        assert (kept["gate"], kept["required"]) == (True, True)

    def test_the_tries_behind_a_gate_are_its_run_of_clean_ones_and_no_others(
        self, small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, move: Moving
    ) -> None:
        dot, land = makers.make_athlete("dot"), small_catalogue["LAND-1"]

        def add(uid: str, result: str, days_ago: int, **values: Any) -> Any:
            at = makers.moment(makers.TODAY - timedelta(days=days_ago))
            return makers.make_attempt(dot, land, result, at=at, uid=uid, **values)

        add("old", "clean", 57, coach=coach)  # the fresh days are 56
        add("before-the-miss", "clean", 50, coach=coach)
        add("missed", "miss", 40, coach=coach)
        wrong = add("wrong", "miss", 20, coach=coach)
        runs = [f"run-{number:02d}" for number in range(20)]
        for number, uid in enumerate(runs):
            add(uid, "clean", 30 - number, coach=(coach, lead)[number % 2])
        makers.make_correction(wrong, "clean", uid="put-right")
        makers.make_attempt(dot, small_catalogue["HANG-1"], uid="hang")

        rows = move(dot, although={"dot": "A test of gates only."})

        found = rows[0].engine_said["gate_attempts"]
        assert list(found) == ["LAND-1"]
        assert set(found["LAND-1"]) == {*runs, "put-right"}
        known = know_athletes(athletes=[dot], today=makers.TODAY)
        column = known.picture.catalogue.position["LAND-1"]
        assert len(found["LAND-1"]) == known.picture.evidence.run[0, column]

    def test_no_name_and_no_code_of_anybody_is_in_it(
        self, ada: Athlete, coach: StaffMember, lead: StaffMember, move: Moving
    ) -> None:
        Athlete.objects.filter(pk=ada.pk).update(name="Quillwort", code="xyzzy", shown_as="Plugh")
        StaffMember.objects.filter(pk=coach.pk).update(code="kimcode", name="Kimname")
        fresh = Athlete.objects.get(pk=ada.pk)

        [row] = move(fresh)

        for word in ("Quillwort", "xyzzy", "Plugh", "kimcode", "Kimname", "lee", "Lee"):
            assert word not in str(row.engine_said)

    def test_the_number_of_queries_does_not_grow_with_the_sending(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
        move: Moving,
        told: list[set[int]],
    ) -> None:
        many = [make_like_ada(f"kid-{n}", small_catalogue, coach, lead) for n in range(30)]
        calibrate_gym(today=makers.TODAY)

        def count(*athletes: Athlete) -> int:
            seen = {one.code: Seen(1, Decision.READY) for one in athletes}
            with CaptureQueriesContext(connection) as asked:
                move(*athletes, seen=seen)
            return len(asked)

        one = count(ada)
        assert count(*many) == one <= 20

"""What the gym's computer stores of a sending, and how it says no: in JSON, to the point."""

import json
from datetime import datetime
from typing import Any

import pytest
from django.db import InterfaceError, OperationalError
from django.test import Client

from progress.models import Athlete, StaffMember, Variant
from progress.pages.checks import sending
from tests import makers
from tests.pages.checks.sendings import AT, ENTRY, UID, Stored, entry, post, problems, send, uid

pytestmark = pytest.mark.usefixtures("monday_class", "floor")


class TestStoring:
    def test_what_is_sent_is_stored_with_its_time_and_coach(
        self, coach_client: Client, coach: StaffMember, stored: Stored
    ) -> None:
        variant = Variant.objects.filter(skill__code="LAND-1")[0]

        response = send(coach_client, entry(variant=variant.code), coach="kim")

        assert response.status_code == 200
        assert json.loads(response.content) == {"stored": [UID], "before": 0, "held": []}
        [made] = stored()
        assert (made.uid, made.athlete.code, made.skill.code) == (UID, "ada", "LAND-1")
        assert (made.result, made.coach, made.variant) == ("clean", coach, variant)
        assert made.at == datetime.fromisoformat(AT)

    def test_the_least_an_entry_needs_is_enough(self, lead_client: Client, stored: Stored) -> None:
        assert send(lead_client, ENTRY).status_code == 200
        assert len(stored()) == 1

    def test_sent_again_it_is_confirmed_again_and_stored_once(
        self, coach_client: Client, stored: Stored
    ) -> None:
        send(coach_client, entry())
        both = send(coach_client, entry(), entry(uid=uid(2)))

        assert json.loads(both.content) == {"stored": [UID, uid(2)], "before": 1, "held": []}
        assert len(stored()) == 2

    def test_a_try_of_a_child_put_on_hold_meanwhile_is_stored_and_the_coach_is_told(
        self, coach_client: Client, ada: Athlete, bo: Athlete, stored: Stored
    ) -> None:
        for child in (ada, bo):
            makers.make_hold(child)
        answer = send(
            coach_client,
            entry(),
            entry(uid=uid(2), athlete="bo"),
            entry(uid=uid(3), athlete="bo"),
        )

        assert answer.status_code == 200
        assert len(stored()) == 3
        assert json.loads(answer.content)["held"] == [
            "Ada is on hold since Mon 2 Mar: the try is kept. Tell the lead.",
            "Bo is on hold since Mon 2 Mar: 2 tries are kept. Tell the lead.",
        ]

    def test_two_coaches_at_the_same_child_and_skill_are_both_kept(
        self, coach_client: Client, lead_client: Client, stored: Stored
    ) -> None:
        send(coach_client, entry(result="clean"))
        send(lead_client, entry(result="miss", uid=uid(2)))

        assert [(a.result, str(a.coach)) for a in stored()] == [("clean", "Kim"), ("miss", "Lee")]

    def test_a_correction_supersedes_and_a_second_one_is_told(
        self, coach_client: Client, lead_client: Client, stored: Stored
    ) -> None:
        send(coach_client, entry())
        send(lead_client, entry(uid=uid(2), supersedes=UID, result="miss"))
        late = send(coach_client, entry(uid=uid(3), supersedes=UID, taken_back=True))

        assert late.status_code == 422
        [(named, what)] = problems(late)
        assert named == uid(3)
        assert "corrected in the meantime" in what
        assert [a.result for a in stored()] == ["clean", "miss"]

    def test_a_time_in_another_zone_is_the_same_moment(
        self, coach_client: Client, stored: Stored
    ) -> None:
        send(coach_client, entry(at="2026-03-02T13:55:00.123+02:00"))

        assert stored()[0].at == datetime.fromisoformat("2026-03-02T11:55:00.123Z")

    def test_a_sending_as_large_as_allowed_is_stored(
        self, coach_client: Client, stored: Stored
    ) -> None:
        response = send(coach_client, *(entry(uid=uid(number)) for number in range(2_000)))

        assert response.status_code == 200
        assert len(stored()) == 2_000

    def test_nothing_sent_stores_nothing(self, coach_client: Client) -> None:
        assert json.loads(send(coach_client).content) == {"stored": [], "before": 0, "held": []}


class TestRefusing:
    def test_one_bad_entry_is_named_and_nothing_is_stored(
        self, coach_client: Client, stored: Stored
    ) -> None:
        response = send(coach_client, entry(), entry(uid=uid(2), athlete="nobody"))

        assert response.status_code == 422
        assert problems(response) == [(uid(2), "'nobody' is not in this class today")]
        assert stored() == []

    @pytest.mark.parametrize(
        ("values", "what"),
        [
            ({"uid": "../../etc"}, "'uid' must be 32"),
            ({"uid": UID.upper()}, "'uid' must be 32"),
            ({"uid": 7}, "'uid' must be 32"),
            ({"athlete": 7}, "'athlete' must be plain text"),
            ({"athlete": None}, "'athlete' must be plain text"),
            ({"skill": ["LAND-1"]}, "'skill' must be plain text"),
            ({"result": {"clean": True}}, "'result' must be plain text"),
            ({"result": "splendid"}, "is not a result"),
            ({"variant": 1}, "'variant' must be plain text"),
            ({"variant": "no-such"}, "not on the floor"),
            ({"supersedes": "a\u0000b"}, "'supersedes' must be plain text"),
            ({"supersedes": uid(9)}, "what it corrects is not stored"),
            ({"reason": "\ud800"}, "'reason' must be plain text"),
            ({"reason": "x" * 201}, "at most 200"),
            ({"taken_back": "no"}, "'taken_back' must be true or false"),
            ({"taken_back": True}, "only a correction"),
            ({"at": "yesterday"}, "'at' must be a time"),
            ({"at": "2026-03-02T11:55:00"}, "with its zone"),
            ({"at": 1772452500}, "'at' must be plain text"),
            ({"at": None}, "'at' must be plain text"),
            ({"at": "0001-01-01T00:00:00+14:00"}, "more than 14 days ago"),
            ({"at": "9999-12-31T23:59:59-14:00"}, "in the future"),
            ({"note": "shy"}, "'note' is not known here"),
        ],
    )
    def test_a_wrong_value_is_a_clear_problem_and_never_a_failure(
        self, coach_client: Client, stored: Stored, values: dict[str, Any], what: str
    ) -> None:
        response = send(coach_client, entry(**values), entry(uid=uid(2)))

        assert response.status_code == 422
        [(named, told)] = problems(response)
        assert what in told
        assert named == ("" if "uid" in values else UID)
        assert stored() == []

    @pytest.mark.parametrize("key", sorted(ENTRY))
    def test_an_entry_with_something_missing_says_what(
        self, coach_client: Client, key: str
    ) -> None:
        cut = {name: value for name, value in ENTRY.items() if name != key}

        [(_, told)] = problems(send(coach_client, cut))

        assert f"{key!r} is missing" in told

    @pytest.mark.parametrize(
        ("body", "status"),
        [
            ("", 400),
            ("{", 400),
            (b"\xff\xfe", 400),
            ("[" * 100_000, 400),
            ("[]", 400),
            ("null", 400),
            ("7", 400),
            ("{}", 400),
            ('{"entries": {}}', 400),
            ('{"entries": [], "coach": 7}', 400),
            ('{"entries": [], "csrf": "x"}', 400),
            ('{"entries": [7]}', 422),
            ('{"entries": [null]}', 422),
            ('{"entries": [NaN]}', 422),
            ('{"entries": [' + "9" * 5_000 + "]}", 400),
        ],
        ids=str,
    )
    def test_a_body_that_is_no_sending_is_refused(
        self, coach_client: Client, body: str | bytes, status: int
    ) -> None:
        response = post(coach_client, body)

        assert response.status_code == status
        assert problems(response)

    def test_more_than_two_thousand_entries_are_too_many(self, coach_client: Client) -> None:
        many = [{"uid": uid(number)} for number in range(2_001)]

        assert problems(send(coach_client, *many)) == [
            ("", "2001 entries at once; send at most 2000.")
        ]

    def test_more_than_a_megabyte_is_not_even_read(
        self, coach_client: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(sending, "read_sending", lambda body: pytest.fail("it was read"))

        response = post(coach_client, b" " * 1_000_001)

        assert response.status_code == 413
        assert problems(response)

    @pytest.mark.parametrize("failure", [OperationalError, InterfaceError])
    def test_a_busy_database_asks_to_come_again(
        self, coach_client: Client, monkeypatch: pytest.MonkeyPatch, failure: type[Exception]
    ) -> None:
        def busy(**_: object) -> None:
            raise failure("database is locked")

        monkeypatch.setattr(sending, "record_checks", busy)

        assert send(coach_client, entry()).status_code == 503

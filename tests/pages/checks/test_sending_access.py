"""Who may send checks, with which token, and how often the database is asked."""

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client
from pytest_django import Settings

from progress.models import StaffMember
from tests.pages.checks.sendings import (
    SEND,
    TOKEN,
    WORKER,
    Stored,
    entry,
    post,
    problems,
    send,
    uid,
)

pytestmark = pytest.mark.usefixtures("monday_class", "floor")


class TestWhoMaySend:
    @pytest.fixture(params=["send", "token"])
    def ask(self, request: pytest.FixtureRequest) -> Callable[[Client], Any]:
        """Either of the two things only a coach or lead may ask for."""
        if request.param == "send":
            return lambda client: send(client, entry())
        return lambda client: client.get(TOKEN)

    def test_whoever_is_not_signed_in_is_told_where_to_and_not_redirected(
        self, anonymous_client: Client, ask: Callable[[Client], Any]
    ) -> None:
        response = ask(anonymous_client)

        assert response.status_code == 401
        assert json.loads(response.content)["sign_in"].startswith("/accounts/login/?next=%2Fclass")

    @pytest.mark.parametrize("role", ["desk", "guardian", "outsider"])
    def test_others_are_refused(
        self,
        role: str,
        ask: Callable[[Client], Any],
        request: pytest.FixtureRequest,
        stored: Stored,
    ) -> None:
        response = ask(request.getfixturevalue(f"{role}_client"))

        assert response.status_code == 404
        assert problems(response)[0][1].startswith("This account may not record checks")
        assert stored() == []

    def test_a_coach_who_has_left_is_refused(
        self, coach_client: Client, coach: StaffMember, ask: Callable[[Client], Any]
    ) -> None:
        coach.active = False
        coach.save()

        assert ask(coach_client).status_code == 404

    def test_a_lead_without_the_second_step_is_sent_there_in_json(
        self, lead: StaffMember, settings: Settings, ask: Callable[[Client], Any]
    ) -> None:
        settings.LEAD_NEEDS_SECOND_FACTOR = True
        assert lead.user is not None
        Authenticator.objects.filter(user=lead.user).delete()
        client = Client()
        client.force_login(lead.user)

        response = ask(client)

        assert response.status_code == 401
        assert json.loads(response.content)["sign_in"].startswith("/accounts/2fa/")

    def test_tries_of_another_coach_are_not_stored_under_this_ones_name(
        self, coach_client: Client, stored: Stored
    ) -> None:
        assert send(coach_client, entry(), coach="sam").status_code == 409
        assert stored() == []

    def test_a_class_that_is_not_there_is_said_in_json(self, coach_client: Client) -> None:
        response = send(coach_client, entry(), path="/classes/no-such/checks/send/")

        assert response.status_code == 404
        assert "no such class" in problems(response)[0][1]


class TestTheWayThere:
    @pytest.fixture
    def strict_client(self, coach: StaffMember, stopped_clock: datetime) -> Client:
        """Signed in as Kim, in a browser that is checked for forged requests."""
        client = Client(enforce_csrf_checks=True)
        assert coach.user is not None
        client.force_login(coach.user)
        return client

    def test_without_a_token_nothing_is_taken(self, strict_client: Client, stored: Stored) -> None:
        assert send(strict_client, entry()).status_code == 403
        assert stored() == []

    def test_with_the_token_it_is(self, strict_client: Client) -> None:
        told = json.loads(strict_client.get(TOKEN).content)
        body = json.dumps({"entries": [entry()]})

        assert told["coach"] == "kim"
        assert post(strict_client, body, **{"X-CSRFToken": told["token"]}).status_code == 200

    def test_a_stale_token_is_refused_and_a_new_one_works(self, strict_client: Client) -> None:
        strict_client.get(TOKEN)
        body = json.dumps({"entries": [entry()]})

        assert post(strict_client, body, **{"X-CSRFToken": "a" * 64}).status_code == 403
        fresh = json.loads(strict_client.get(TOKEN).content)["token"]
        assert post(strict_client, body, **{"X-CSRFToken": fresh}).status_code == 200

    def test_nothing_is_kept_on_the_way(
        self, coach_client: Client, anonymous_client: Client
    ) -> None:
        for response in (
            coach_client.get(TOKEN),
            anonymous_client.get(TOKEN),
            send(coach_client, entry()),
            send(coach_client, entry(uid="x")),
            send(anonymous_client, entry()),
        ):
            assert response["Content-Type"] == "application/json"
            assert "no-store" in response["Cache-Control"]

    @pytest.mark.parametrize("path", [TOKEN, WORKER])
    def test_only_reading_is_for_reading(self, coach_client: Client, path: str) -> None:
        assert coach_client.post(path).status_code == 405
        assert coach_client.get(SEND).status_code == 405

    def test_the_worker_is_the_file_and_may_rule_the_whole_site(
        self, anonymous_client: Client
    ) -> None:
        response = anonymous_client.get(WORKER)

        assert response["Content-Type"].startswith("text/javascript")
        assert response["Service-Worker-Allowed"] == "/"
        assert response["Cache-Control"] == "no-cache"
        assert b'const VERSION = "' in response.content

    def test_a_sending_asks_the_database_a_fixed_number_of_times(
        self,
        coach_client: Client,
        django_assert_max_num_queries: Any,
    ) -> None:
        send(coach_client, entry(uid=uid(1)))
        asked = []
        for size in (1, 60):
            some = [entry(uid=uid(1_000 * size + number)) for number in range(size)]
            with django_assert_max_num_queries(40) as counted:
                assert send(coach_client, *some).status_code == 200
            asked.append(len(counted))

        assert asked[0] == asked[1]

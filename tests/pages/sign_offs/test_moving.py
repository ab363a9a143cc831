"""The form that moves athletes up: everything is said before anybody presses."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Athlete, SignOff, Skill, StaffMember, Tier
from progress.pages.shared.words import likelihood, percent
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.know_athletes import know_athletes
from progress.usecases.sign_offs.sign_off import MOST_AT_ONCE
from tests import makers
from tests.pages.sign_offs.conftest import text

pytestmark = pytest.mark.django_db

WHY = "Steady on both ladders for a month."


def address(*codes: str) -> str:
    return reverse("sign_off") + "?" + "&".join(f"athlete={code}" for code in codes)


def filled(client: Client, *codes: str, **others: Any) -> dict[str, Any]:
    """What the form would send as it is shown, with the sentence written."""
    page = client.get(address(*codes)).content.decode()
    form = page.split('class="sign-off-form"')[1].split("</form>")[0]
    hidden = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form)
    sent: dict[str, Any] = {"athlete": [value for name, value in hidden if name == "athlete"]}
    sent |= {name: value for name, value in hidden if name.startswith("seen:")}
    return sent | {"sentence": WHY} | others


def tiers() -> dict[str, int]:
    return dict(Athlete.objects.values_list("code", "tier"))


@pytest.fixture
def building(small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember) -> Athlete:
    """Eve lands safely for two coaches and never hangs."""
    eve = makers.make_athlete("eve")
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (4, 3, 2, 1)]
    for code, result in (("LAND-1", "clean"), ("HANG-1", "miss")):
        makers.make_attempts(
            eve, small_catalogue[code], [result] * 16, days=days, coaches=(coach, lead)
        )
    return eve


class TestTheForm:
    def test_it_says_what_the_engine_says_and_what_each_gate_stands_at(
        self, lead_client: Client, ada: Athlete, tiers: dict[int, Tier]
    ) -> None:
        makers.make_class("wed", name="Wednesday class", weekday=2, places=4).tiers.add(tiers[2])

        page = text(lead_client.get(address("ada")))

        assert "Ada Tier 1 → to Tier 2" in page
        says = know_athletes(athletes=[ada], today=makers.TODAY).readiness[0].p_ready
        assert f"The tool says: Ready {likelihood(says)}, {percent(says)}" in page
        assert "2 of 2 skills of tier 1 secure" in page
        assert "Safety skill Land still on two feet: Secure and held: 8 of 8" in page
        assert "Wednesday 16:30, Wednesday class: 4 free" in page
        assert "Why does Ada move up? One sentence" in page
        assert "Move 1 athlete up" in page
        assert "You can undo it for a day" in page

    def test_who_cannot_be_moved_is_listed_apart_with_the_reason_and_is_not_sent(
        self, lead_client: Client, ada: Athlete, cy: Athlete
    ) -> None:
        response = lead_client.get(address("ada", "cy"))

        page = text(response)
        assert "Cannot be moved up today (1)" in page
        apart = page.split("Cannot be moved up today (1)")[1]
        assert "Safety skill not held today: Land still on two feet." in apart
        assert "It asks for 5 clean in a row on 2 days with 2 coaches" in apart
        assert "Move 1 athlete up" in page
        assert filled(lead_client, "ada", "cy")["athlete"] == ["ada"]
        assert 'name="athlete" value="cy"' not in response.content.decode()

    def test_where_nobody_can_be_moved_there_is_no_form(
        self, lead_client: Client, cy: Athlete, ada: Athlete
    ) -> None:
        response = lead_client.get(address("cy"))
        assert "Nobody of those chosen can be moved up today" in text(response)
        assert "sign-off-form" not in response.content.decode()

    def test_building_asks_for_a_reason_and_the_others_do_not(
        self, lead_client: Client, ada: Athlete, building: Athlete
    ) -> None:
        page = lead_client.get(address("ada", "eve")).content.decode()
        assert 'name="although:eve"' in page
        assert 'name="although:ada"' not in page
        assert "The tool says building. Why does Eve move up all the same?" in page

    def test_one_can_be_left_out_and_the_last_one_cannot(
        self, lead_client: Client, ada: Athlete, building: Athlete
    ) -> None:
        page = lead_client.get(address("ada", "eve")).content.decode()
        assert f'href="{address("eve")}"' in page
        assert "Leave out" not in lead_client.get(address("ada")).content.decode()

    def test_nobody_unknown_codes_and_too_many_are_answered_plainly(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        assert "Nobody is chosen" in text(lead_client.get(reverse("sign_off")))
        assert "nobody has the code nemo" in text(lead_client.get(address("nemo")))
        both = text(lead_client.get(address("nemo", "ada")))
        assert "Nobody has the code nemo" in both
        assert "Move 1 athlete up" in both
        many = [makers.make_athlete().code for _ in range(MOST_AT_ONCE + 1)]
        assert "too many at once: choose 60" in text(lead_client.get(address(*many)))

    def test_the_number_of_queries_is_the_same_for_one_and_for_thirty(
        self,
        lead_client: Client,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        lead: StaffMember,
    ) -> None:
        days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (3, 2, 1)]
        codes = [f"kid-{number}" for number in range(30)]
        for number, code in enumerate(codes):
            kid = makers.make_athlete(code)
            for skill in ("LAND-1", "HANG-1"):
                makers.make_attempts(
                    kid, small_catalogue[skill], ["clean"] * 9, days=days, coaches=(coach, lead)
                )
            if number % 3 == 0:
                makers.make_hold(kid)
        makers.make_hold(makers.make_athlete("held"))
        calibrate_gym(today=makers.TODAY)

        def count(*asked_for: str) -> int:
            with CaptureQueriesContext(connection) as asked:
                assert lead_client.get(address(*asked_for)).status_code == 200
            return len(asked)

        count("ada")
        assert count("ada", "held") == count(*codes) <= 25


class TestSending:
    def test_they_are_moved_and_the_page_says_who_and_until_when_it_can_be_undone(
        self, lead_client: Client, ada: Athlete, building: Athlete, lead: StaffMember
    ) -> None:
        reason = {"although:eve": "Hangs well in the other hall."}
        sent = filled(lead_client, "ada", "eve", **reason, **{"stays:ada": "yes"})

        response = lead_client.post(reverse("sign_off"), sent, follow=True)

        page = text(response)
        assert response.redirect_chain == [(reverse("sign_offs"), 302)]
        assert "2 athletes moved up: Ada to Tier 2, Eve to Tier 2." in page
        assert "You can undo this until tomorrow 12:00." in page
        assert tiers() == {"ada": 2, "eve": 2}
        rows = {row.athlete.code: row for row in SignOff.objects.select_related("athlete")}
        assert {row.sentence for row in rows.values()} == {WHY}
        assert (rows["eve"].although, rows["ada"].although) == (reason["although:eve"], "")
        assert (rows["ada"].stays, rows["eve"].stays) == (True, False)
        assert rows["ada"].decided_by == lead

    def test_a_double_tap_is_told_so_and_nothing_doubles(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        sent = filled(lead_client, "ada")
        lead_client.post(reverse("sign_off"), sent)

        page = text(lead_client.post(reverse("sign_off"), sent, follow=True))

        assert "Ada is in Tier 2 already, moved today 12:00 by Lee. Nobody was moved twice." in page
        assert tiers() == {"ada": 2}
        assert SignOff.objects.count() == 1

    def test_one_moved_by_somebody_else_is_dropped_and_the_rest_is_asked_again(
        self, lead_client: Client, ada: Athlete, building: Athlete
    ) -> None:
        words = {"although:eve": "Hangs well in the other hall."}
        sent = filled(lead_client, "ada", "eve", **words)
        lead_client.post(reverse("sign_off"), filled(lead_client, "ada"))

        response = lead_client.post(reverse("sign_off"), sent)

        assert response.status_code == 409
        assert "Ada is in Tier 2 already" in text(response)
        assert "Move 1 athlete up" in text(response)
        assert words["although:eve"] in response.content.decode()
        assert WHY in response.content.decode()
        assert tiers() == {"ada": 2, "eve": 1}

    def test_where_the_engine_says_otherwise_by_now_the_new_state_is_shown_and_asked_again(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        sent = filled(lead_client, "ada")
        makers.make_skill("RUN-1", ladder="running", name="Run the wall")

        response = lead_client.post(reverse("sign_off"), sent)

        assert response.status_code == 409
        page = text(response)
        assert "Nothing was moved. The suggestion has changed" in page
        assert "Changed since you opened the page" in page
        assert "The tool says: Needs checks" in page
        assert tiers() == {"ada": 1}
        again = re.findall(r'name="seen:ada" value="([^"]*)"', response.content.decode())
        assert again == ["1:needs_checks"]
        lead_client.post(reverse("sign_off"), sent | {"seen:ada": again[0]})
        assert tiers() == {"ada": 2}

    def test_a_hold_placed_meanwhile_keeps_all_back_and_says_why(
        self, lead_client: Client, ada: Athlete, building: Athlete
    ) -> None:
        sent = filled(lead_client, "ada", "eve", **{"although:eve": "Hangs well elsewhere."})
        makers.make_hold(ada)

        response = lead_client.post(reverse("sign_off"), sent)

        assert response.status_code == 422
        page = text(response)
        assert "Nothing was moved. Cannot be moved up: Ada." in page
        assert "Is on hold since 2 Mar 2026." in page
        assert set(tiers().values()) == {1}

    def test_without_the_words_asked_for_the_form_comes_back_with_what_was_written(
        self, lead_client: Client, ada: Athlete, building: Athlete
    ) -> None:
        sent = filled(lead_client, "ada", "eve", sentence="", **{"although:eve": "well"})
        sent["sentence:ada"] = "Holds all of it."

        response = lead_client.post(reverse("sign_off"), sent)

        assert response.status_code == 422
        raw = response.content.decode()
        assert "Say in a sentence why" in raw
        assert "Say in a few words why they move up all the same" in raw
        assert ">well</textarea>" in raw
        assert ">Holds all of it.</textarea>" in raw
        assert raw.count('aria-invalid="true"') == 2
        assert set(tiers().values()) == {1}

    def test_what_was_not_seen_or_is_nonsense_moves_nobody(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        for seen in ("", "1", "1:splendid", "x:ready", "²:ready"):
            sent = filled(lead_client, "ada") | {"seen:ada": seen}
            assert lead_client.post(reverse("sign_off"), sent).status_code == 409, seen
        assert lead_client.post(reverse("sign_off"), {}).status_code == 422
        gone = filled(lead_client, "ada") | {"athlete": ["ada", "nemo"]}
        assert lead_client.post(reverse("sign_off"), gone).status_code == 422
        assert tiers() == {"ada": 1}

    @pytest.mark.parametrize("role", ["coach", "desk", "guardian"])
    def test_nobody_but_the_lead_may_send_it(
        self, role: str, lead_client: Client, ada: Athlete, request: pytest.FixtureRequest
    ) -> None:
        sent = filled(lead_client, "ada")
        client: Client = request.getfixturevalue(f"{role}_client")
        assert client.post(reverse("sign_off"), sent).status_code == 404
        assert tiers() == {"ada": 1}

    def test_names_and_codes_of_any_letters_run_nothing_and_still_work(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        Athlete.objects.update(name="<b>\"Ö'</b>", code="a b:c")
        page = lead_client.get(reverse("sign_off"), {"athlete": "a b:c"}).content.decode()
        assert "<b>" not in page
        sent = {"athlete": ["a b:c"], "seen:a b:c": "1:ready", "sentence": WHY}
        assert lead_client.post(reverse("sign_off"), sent).status_code == 302
        assert tiers() == {"a b:c": 2}

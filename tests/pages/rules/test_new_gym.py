"""A gym on its first day: no skill, no child, no version of the rules."""

from django.test import Client
from django.urls import reverse

from progress.models import RuleBook
from tests.pages.rules.forms_on_a_page import body, filled, text


def test_the_defaults_can_be_read_tried_and_changed(lead_client: Client) -> None:
    page = lead_client.get(reverse("rules"))
    sent = filled(body(page), "rules_preview") | {"ready_at": "70"}
    preview = lead_client.post(reverse("rules_preview"), sent)
    assert "Nobody is in the programme yet" in text(preview)

    whole = filled(body(preview), "rules_save") | {"why": "A careful start."}
    assert lead_client.post(reverse("rules_save"), whole).status_code == 302

    assert (RuleBook.in_force().version, RuleBook.in_force().ready_at) == (2, 0.7)


def test_no_skill_is_said(lead_client: Client) -> None:
    page = text(lead_client.get(reverse("rules_skills")))

    assert "There is no skill in the catalogue yet." in page
    assert "Show who would change" not in page

"""Who may open what: for each page of the site map, each kind of visitor who is let in."""

from typing import Any

from django.urls import reverse

ROLES = (
    *("anonymous", "coach", "lead", "desk", "guardian", "outsider"),
    *("linked", "linked_outsider", "revoked"),
)
NOT_SIGNED_IN = {"anonymous", "linked", "linked_outsider", "revoked"}
SIGN_IN, OPEN, GONE, ON = "sign in", 200, 404, "sent on"
TO_SEND = 405  # a page that only takes what is sent to it, for whoever may send it

FAMILY, OTHERS = ("guardian", "linked"), ("outsider", "linked_outsider")
OUR_STAFF = {"coach": OPEN, "lead": OPEN}
CLOSED = {"revoked": ON}  # to the page that says the link no longer opens
NOT_LINKED = {"linked_outsider": GONE, **CLOSED}

# For each page who is let in; "ada" is the guardian's child, "cy" the outsider's.
PAGES: dict[Any, dict[str, object]] = {
    ("home", None): dict.fromkeys(
        ("coach", "lead", "desk", "guardian", "outsider", "linked", "linked_outsider"), ON
    ),
    ("class_list", None): {"coach": OPEN, "lead": OPEN, "desk": OPEN},
    ("class_page", "monday"): {"coach": OPEN, "lead": OPEN, "desk": OPEN},
    ("class_page", "no-such-class"): {},
    ("check_sheet", "monday"): {"coach": OPEN, "lead": OPEN},
    ("check_sheet", "no-such-class"): {},
    ("sheet_summary", "monday"): {"coach": OPEN, "lead": OPEN},
    ("sheet_summary", "no-such-class"): {},
    ("sheet_print", "monday"): {"coach": OPEN, "lead": OPEN},
    ("sheet_typing", "monday"): {"coach": OPEN, "lead": OPEN},
    ("sheet_register", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("sheet_skills", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("class_plan", "monday"): {"coach": OPEN, "lead": OPEN},
    ("class_plan", "no-such-class"): {},
    ("plan_print", "monday"): {"coach": OPEN, "lead": OPEN},
    ("plan_move", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("plan_undo", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("plan_reason", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("plan_adults", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("plan_challenge", "monday"): {"coach": TO_SEND, "lead": TO_SEND},
    ("athlete_page", "ada"): {"coach": OPEN, "lead": OPEN},
    ("athlete_notes", "ada"): {"coach": OPEN, "lead": OPEN},
    ("athlete_notes", "no-such-child"): {},
    ("strike_note", "ada", 1): {"coach": TO_SEND, "lead": TO_SEND},
    ("athlete_hold", "ada"): {"coach": OPEN, "lead": OPEN},
    ("athlete_hold", "no-such-child"): {},
    ("end_hold", "ada", 1): {"lead": TO_SEND},
    ("correct_attempt", "ada", "a-try"): {"coach": OPEN, "lead": OPEN},
    ("correct_attempt", "cy", "a-try"): {},
    ("athlete_page", "no-such-child"): {},
    ("move_up_list", None): {"lead": OPEN},
    ("evidence", "ada"): {"lead": OPEN},
    ("evidence", "no-such-child"): {},
    ("time_to_tier", None): {"lead": OPEN},
    ("coaches", None): {"lead": OPEN},
    ("difficulty", None): {"lead": OPEN},
    ("retier", None): {"lead": OPEN},
    ("attention", None): {"lead": OPEN},
    ("report_card", None): {"lead": OPEN},
    ("sign_off", None): {"lead": OPEN},
    ("sign_offs", None): {"lead": OPEN},
    ("sign_off_undo", 1): {"lead": TO_SEND},
    ("sign_off_settle", 1): {"lead": TO_SEND},
    ("move_back", "ada"): {"lead": OPEN},
    ("move_back", "no-such-child"): {},
    ("places", None): {"lead": OPEN},
    ("place_give", "ada"): {"lead": TO_SEND},
    ("board_refresh", None): {"lead": TO_SEND},
    ("rules", None): {"lead": OPEN},
    ("rules_preview", None): {"lead": TO_SEND},
    ("rules_save", None): {"lead": TO_SEND},
    ("rules_back", 1): {"lead": ON},  # to the rules: version 1 is in force already
    ("rules_back", 999): {},
    ("rules_skills", None): {"lead": OPEN},
    ("rules_skills_preview", None): {"lead": TO_SEND},
    ("rules_skills_save", None): {"lead": TO_SEND},
    ("floor_coverage", 1): OUR_STAFF,
    ("floor_coverage", 999): {},
    ("floor_sheet", 1): OUR_STAFF,
    ("floor_sheet", 999): {},
    ("floor_limits", None): OUR_STAFF,
    ("family_page", None): {**dict.fromkeys(FAMILY + OTHERS, OPEN), "revoked": ON},
    ("child_page", "ada"): {**OUR_STAFF, **dict.fromkeys(FAMILY, OPEN), **NOT_LINKED},
    ("child_page", "cy"): {**OUR_STAFF, **dict.fromkeys(OTHERS, OPEN), "linked": GONE, **CLOSED},
    ("child_page", "no-such-child"): {**NOT_LINKED, "linked": GONE},
    **{
        (page, "ada"): {**dict.fromkeys(FAMILY, OPEN), **NOT_LINKED}
        for page in ("child_choices", "child_download", "child_erase")
    },
    **{
        (page, "cy"): {**dict.fromkeys(OTHERS, OPEN), "linked": GONE, **CLOSED}
        for page in ("child_choices", "child_download", "child_erase")
    },
    **{
        (page, "ada"): {**dict.fromkeys(FAMILY, TO_SEND), **NOT_LINKED}
        for page in ("child_consent", "child_name")
    },
    ("child_choices", "no-such-child"): {**NOT_LINKED, "linked": GONE},
    ("certificate", "ada", 1): OUR_STAFF,
    ("certificate", "ada", 999): {},
    ("certificate", "cy", 1): {},
    ("child_certificate", "ada", 1): {**OUR_STAFF, **dict.fromkeys(FAMILY, OPEN), **NOT_LINKED},
    ("child_certificate", "cy", 1): {**NOT_LINKED, "linked": GONE},
    ("erasures", None): {"lead": OPEN},
    ("erasure_page", 1): {"lead": OPEN},
    ("erasure_page", 999): {},
    ("erasure_answer", 1): {"lead": TO_SEND},
    ("families", None): {"coach": OPEN, "lead": OPEN, "desk": OPEN},
    ("guardian_page", 1): {"coach": OPEN, "lead": OPEN, "desk": OPEN},
    ("guardian_page", 999): {},
    ("guardian_link", 1): {"coach": TO_SEND, "lead": TO_SEND, "desk": TO_SEND},
    ("guardian_revoke", 1): {"coach": TO_SEND, "lead": TO_SEND, "desk": TO_SEND},
    ("guardian_right", 1, "ada"): {"coach": TO_SEND, "lead": TO_SEND, "desk": TO_SEND},
    ("family_open", None): dict.fromkeys(ROLES, OPEN),
    ("family_code", None): dict.fromkeys(ROLES, OPEN),
    ("family_code_enter", None): dict.fromkeys(ROLES, TO_SEND),
    ("family_close", None): dict.fromkeys(ROLES, TO_SEND),
    ("family_language", None): dict.fromkeys(ROLES, TO_SEND),
    # The pages of a setup, with one to open: tests/pages/floor/test_who_may_plan.py.
    ("floor_weeks", None): OUR_STAFF,
    ("floor_library", None): OUR_STAFF,
    ("floor_setup", 999): {},
    ("floor_throw_away", 999): {},
    ("floor_pick", 999, 1): {},
    ("floor_station", 999): {},
    ("floor_variant_new", 999): {},
    ("floor_variant", 999, 1): {},
    ("floor_copy", None): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_undo", None): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_publish", 999): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_name", 999): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_loops", 999): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_loop", 999, 1): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_stops", 999): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_station_keep", 999): {"coach": TO_SEND, "lead": TO_SEND},
    ("floor_station_remove", 999): {"coach": TO_SEND, "lead": TO_SEND},
}

# Asked for by the script of the check sheet, in JSON: tests/pages/checks/test_sending.py.
FOR_SCRIPTS = {"send_checks", "sheet_token", "sheet_worker"}

Page = tuple[str, str | int | None] | tuple[str, str | int, str | int]


def address(page: Page) -> str:
    return reverse(page[0], args=[one for one in page[1:] if one is not None])

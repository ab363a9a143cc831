"""The site map: one line a page."""

from django.urls import path

from progress.pages.athletes.corrections import correct_attempt
from progress.pages.athletes.holds import athlete_hold, end_hold
from progress.pages.athletes.notes import athlete_notes, strike_note
from progress.pages.athletes.views import athlete_page
from progress.pages.attention.views import attention
from progress.pages.certificates.views import certificate, staff_certificate
from progress.pages.checks.marking import sheet_register, sheet_skills
from progress.pages.checks.paper import sheet_print, sheet_typing
from progress.pages.checks.sending import send_checks, sheet_token, sheet_worker
from progress.pages.checks.views import check_sheet, sheet_summary
from progress.pages.classes.views import class_list, class_page
from progress.pages.coaches.views import coaches
from progress.pages.consents.choices import child_choices, child_consent, child_name
from progress.pages.consents.download import child_download
from progress.pages.consents.erase import child_erase
from progress.pages.coverage.views import floor_coverage
from progress.pages.difficulty.moves import retier
from progress.pages.difficulty.views import difficulty
from progress.pages.erasures.views import erasure_answer, erasure_page, erasures
from progress.pages.evidence.views import evidence
from progress.pages.families.views import (
    families,
    guardian_link,
    guardian_page,
    guardian_revoke,
    guardian_right,
)
from progress.pages.family.language import family_language
from progress.pages.family.opening import (
    family_close,
    family_code,
    family_code_enter,
    family_open,
)
from progress.pages.family.views import child_page, family_page
from progress.pages.floor.builder import (
    floor_name,
    floor_publish,
    floor_setup,
    floor_throw_away,
    floor_undo,
)
from progress.pages.floor.loops import floor_loop, floor_loops, floor_pick, floor_stops
from progress.pages.floor.stations import (
    floor_library,
    floor_station,
    floor_station_keep,
    floor_station_remove,
    floor_variant,
    floor_variant_new,
)
from progress.pages.floor.weeks import floor_copy, floor_weeks
from progress.pages.floor_sheet.views import floor_sheet
from progress.pages.home.views import home
from progress.pages.limits.views import floor_limits
from progress.pages.move_up.views import board_refresh, move_up_list
from progress.pages.plans.moves import (
    plan_adults,
    plan_challenge,
    plan_move,
    plan_reason,
    plan_undo,
)
from progress.pages.plans.views import class_plan, plan_print
from progress.pages.report_card.views import report_card
from progress.pages.rules.back import rules_back
from progress.pages.rules.skills import rules_skills, rules_skills_preview, rules_skills_save
from progress.pages.rules.views import rules_page, rules_preview, rules_save
from progress.pages.sign_offs.decisions import go_back, settle_sign_off, sign_offs, undo_sign_off
from progress.pages.sign_offs.moving import move_athletes_up
from progress.pages.sign_offs.places import give_a_place, places
from progress.pages.time_to_tier.views import time_to_tier

urlpatterns = [
    path("", home, name="home"),
    path("classes/", class_list, name="class_list"),
    path("classes/<str:code>/", class_page, name="class_page"),
    path("classes/<str:code>/checks/", check_sheet, name="check_sheet"),
    path("classes/<str:code>/checks/send/", send_checks, name="send_checks"),
    path("checks/token/", sheet_token, name="sheet_token"),
    path("sheet-worker.js", sheet_worker, name="sheet_worker"),
    path("classes/<str:code>/checks/register/", sheet_register, name="sheet_register"),
    path("classes/<str:code>/checks/skills/", sheet_skills, name="sheet_skills"),
    path("classes/<str:code>/checks/summary/", sheet_summary, name="sheet_summary"),
    path("classes/<str:code>/checks/print/", sheet_print, name="sheet_print"),
    path("classes/<str:code>/checks/typing/", sheet_typing, name="sheet_typing"),
    path("classes/<str:code>/plan/", class_plan, name="class_plan"),
    path("classes/<str:code>/plan/move/", plan_move, name="plan_move"),
    path("classes/<str:code>/plan/undo/", plan_undo, name="plan_undo"),
    path("classes/<str:code>/plan/reason/", plan_reason, name="plan_reason"),
    path("classes/<str:code>/plan/adults/", plan_adults, name="plan_adults"),
    path("classes/<str:code>/plan/challenge/", plan_challenge, name="plan_challenge"),
    path("classes/<str:code>/plan/print/", plan_print, name="plan_print"),
    path("athletes/<str:code>/", athlete_page, name="athlete_page"),
    path("athletes/<str:code>/notes/", athlete_notes, name="athlete_notes"),
    path("athletes/<str:code>/notes/<int:number>/take-back/", strike_note, name="strike_note"),
    path("athletes/<str:code>/hold/", athlete_hold, name="athlete_hold"),
    path("athletes/<str:code>/holds/<int:number>/lift/", end_hold, name="end_hold"),
    path(
        "athletes/<str:code>/attempts/<str:uid>/correct/", correct_attempt, name="correct_attempt"
    ),
    path("athletes/<str:code>/certificate/<int:number>/", staff_certificate, name="certificate"),
    path("floor/", floor_weeks, name="floor_weeks"),
    path("floor/copy/", floor_copy, name="floor_copy"),
    path("floor/undo/", floor_undo, name="floor_undo"),
    path("floor/<int:number>/", floor_setup, name="floor_setup"),
    path("floor/<int:number>/publish/", floor_publish, name="floor_publish"),
    path("floor/<int:number>/name/", floor_name, name="floor_name"),
    path("floor/<int:number>/throw-away/", floor_throw_away, name="floor_throw_away"),
    path("floor/<int:number>/loops/", floor_loops, name="floor_loops"),
    path("floor/<int:number>/loops/<int:loop>/", floor_loop, name="floor_loop"),
    path("floor/<int:number>/loops/<int:loop>/pick/", floor_pick, name="floor_pick"),
    path("floor/<int:number>/stops/", floor_stops, name="floor_stops"),
    path("floor/<int:number>/coverage/", floor_coverage, name="floor_coverage"),
    path("floor/<int:number>/sheet/", floor_sheet, name="floor_sheet"),
    path("floor/limits/", floor_limits, name="floor_limits"),
    path("floor/stations/", floor_library, name="floor_library"),
    path("floor/stations/<int:number>/", floor_station, name="floor_station"),
    path("floor/stations/<int:number>/keep/", floor_station_keep, name="floor_station_keep"),
    path("floor/stations/<int:number>/remove/", floor_station_remove, name="floor_station_remove"),
    path("floor/stations/<int:number>/variants/", floor_variant_new, name="floor_variant_new"),
    path(
        "floor/stations/<int:number>/variants/<int:variant>/", floor_variant, name="floor_variant"
    ),
    path("move-up/", move_up_list, name="move_up_list"),
    path("move-up/refresh/", board_refresh, name="board_refresh"),
    path("move-up/difficulty/", difficulty, name="difficulty"),
    path("move-up/difficulty/move/", retier, name="retier"),
    path("move-up/sign-off/", move_athletes_up, name="sign_off"),
    path("move-up/sign-offs/", sign_offs, name="sign_offs"),
    path("move-up/sign-offs/<int:number>/undo/", undo_sign_off, name="sign_off_undo"),
    path("move-up/sign-offs/<int:number>/settle/", settle_sign_off, name="sign_off_settle"),
    path("move-up/move-back/<str:code>/", go_back, name="move_back"),
    path("move-up/places/", places, name="places"),
    path("move-up/places/<str:code>/give/", give_a_place, name="place_give"),
    path("move-up/look-at/", attention, name="attention"),
    path("move-up/report-card/", report_card, name="report_card"),
    path("move-up/rules/", rules_page, name="rules"),
    path("move-up/rules/preview/", rules_preview, name="rules_preview"),
    path("move-up/rules/save/", rules_save, name="rules_save"),
    path("move-up/rules/versions/<int:number>/", rules_back, name="rules_back"),
    path("move-up/rules/skills/", rules_skills, name="rules_skills"),
    path("move-up/rules/skills/preview/", rules_skills_preview, name="rules_skills_preview"),
    path("move-up/rules/skills/save/", rules_skills_save, name="rules_skills_save"),
    path("move-up/time-to-tier/", time_to_tier, name="time_to_tier"),
    path("move-up/coaches/", coaches, name="coaches"),
    path("move-up/athletes/<str:code>/", evidence, name="evidence"),
    path("families/", families, name="families"),
    path("families/<int:number>/", guardian_page, name="guardian_page"),
    path("families/<int:number>/link/", guardian_link, name="guardian_link"),
    path("families/<int:number>/revoke/", guardian_revoke, name="guardian_revoke"),
    path("families/<int:number>/rights/<str:code>/", guardian_right, name="guardian_right"),
    path("family/", family_page, name="family_page"),
    path("family/open/", family_open, name="family_open"),
    path("family/language/", family_language, name="family_language"),
    path("family/close/", family_close, name="family_close"),
    path("family/code/", family_code, name="family_code"),
    path("family/code/enter/", family_code_enter, name="family_code_enter"),
    path("family/child/<str:code>/", child_page, name="child_page"),
    path(
        "family/child/<str:code>/choices/",
        child_choices,
        name="child_choices",
    ),
    path(
        "family/child/<str:code>/choices/answer/",
        child_consent,
        name="child_consent",
    ),
    path(
        "family/child/<str:code>/choices/name/",
        child_name,
        name="child_name",
    ),
    path(
        "family/child/<str:code>/download/",
        child_download,
        name="child_download",
    ),
    path(
        "family/child/<str:code>/erase/",
        child_erase,
        name="child_erase",
    ),
    path(
        "family/child/<str:code>/certificate/<int:number>/",
        certificate,
        name="child_certificate",
    ),
    path("erasures/", erasures, name="erasures"),
    path("erasures/<int:number>/", erasure_page, name="erasure_page"),
    path("erasures/<int:number>/answer/", erasure_answer, name="erasure_answer"),
]

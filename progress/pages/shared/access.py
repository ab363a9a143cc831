"""Who may open which page. Whatever is not allowed here is refused.

One rule for every refusal: a page that is not yours does not exist. Another family's child, an
unknown code and a page for another role all answer with the same 404, so that nobody can learn
who is in the programme by trying addresses.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, wraps
from typing import Any

from allauth.mfa.utils import is_mfa_enabled
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from progress.models import Athlete, Guardian, GymClass, Role, StaffMember
from progress.models.people import AthleteQuerySet
from progress.usecases.families.links import link_in_force

FAMILY_LINK = "family_link"  # where a session keeps the number of the link it was opened with

View = Callable[..., HttpResponse]

COACH_OR_LEAD = frozenset({Role.COACH, Role.LEAD})
LEAD = frozenset({Role.LEAD})
ANY_STAFF = frozenset(Role)


@dataclass(frozen=True)
class Visitor:
    """Who is asking: a member of staff, a guardian, both (a coach with a child here) or neither.

    ``by_link``: a guardian who came by a private link, without an account.
    """

    staff: StaffMember | None = None
    guardian: Guardian | None = None
    by_link: bool = False

    @cached_property
    def second_factor_missing(self) -> bool:
        """Whether a lead signs in with a password alone; looked up only where it is asked."""
        if self.staff is None or self.staff.role != Role.LEAD:
            return False
        return not is_mfa_enabled(self.staff.user)

    @property
    def role(self) -> str:
        """The staff role's value, or an empty string."""
        return self.staff.role if self.staff else ""

    @property
    def sees_skills(self) -> bool:
        """Whether skills and classes' check sheets are this visitor's business."""
        return self.role in COACH_OR_LEAD


def visitor_of(request: HttpRequest) -> Visitor:
    """Work out who is asking, once a request."""
    known: Visitor | None = getattr(request, "gym_visitor", None)
    if known is None:
        known = _look_up(request)
        request.gym_visitor = known  # type: ignore[attr-defined]
    return known


def _look_up(request: HttpRequest) -> Visitor:
    user = request.user
    if not user.is_authenticated or not user.is_active:
        return _by_link(request)
    staff = getattr(user, "staff_member", None)
    return Visitor(staff if staff and staff.active else None, getattr(user, "guardian", None))


def _by_link(request: HttpRequest) -> Visitor:
    """The guardian whose private link opened this session, while the link is in force."""
    session = getattr(request, "session", None)
    number = session.get(FAMILY_LINK) if session is not None else None
    link = link_in_force(number=number, now=timezone.now()) if number else None
    return Visitor(guardian=link.guardian, by_link=True) if link else Visitor()


def lead_must_add_second_factor(visitor: Visitor) -> bool:
    """Whether this gym makes the lead's second factor compulsory and it is still missing."""
    compulsory = bool(getattr(settings, "LEAD_NEEDS_SECOND_FACTOR", False))
    return compulsory and visitor.second_factor_missing


def _to_second_factor(request: HttpRequest) -> HttpResponse:
    messages.warning(request, "Add a second sign-in step first. It guards the children's records.")
    return redirect("mfa_index")


def _staff(roles: frozenset[Role]) -> Callable[[View], View]:
    """Let these staff roles in and hand the view its StaffMember as ``staff``."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            visitor = visitor_of(request)
            if visitor.staff is None or visitor.role not in roles:
                raise Http404
            if lead_must_add_second_factor(visitor):
                return _to_second_factor(request)
            return view(request, *args, staff=visitor.staff, **kwargs)

        return guarded

    return decorate


coach_or_lead = _staff(COACH_OR_LEAD)
lead_only = _staff(LEAD)
staff_only = _staff(ANY_STAFF)


def guardian_only(view: View) -> View:
    """Let guardians in and hand the view its Guardian as ``guardian``."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        visitor = visitor_of(request)
        if visitor.guardian is None:
            if not request.user.is_authenticated:
                return _to_sign_in(request)
            raise Http404
        return view(request, *args, guardian=visitor.guardian, **kwargs)

    return guarded


def may_see_child(view: View) -> View:
    """Let in whoever may see the child named by ``code``; hand the view the ``athlete``."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, code: str, **kwargs: Any) -> HttpResponse:
        visitor = visitor_of(request)
        if not request.user.is_authenticated and visitor.guardian is None:
            return _to_sign_in(request)
        if lead_must_add_second_factor(visitor):
            return _to_second_factor(request)
        return view(request, *args, athlete=athlete_or_404(request, code), **kwargs)

    return guarded


def athlete_or_404(request: HttpRequest, code: str) -> Athlete:
    """Return the athlete if this visitor may see them; otherwise as if there were none."""
    visitor = visitor_of(request)
    if visitor.by_link and visitor.guardian is not None:
        return get_object_or_404(_children_of(visitor.guardian), code=code)
    visible = Athlete.objects.visible_to(request.user).select_related("tier")
    return get_object_or_404(visible, code=code)


def class_or_404(code: str) -> GymClass:
    """Return the class with this code, or 404."""
    return get_object_or_404(GymClass, code=code)


def own_children(guardian: Guardian) -> list[Athlete]:
    """The children this guardian may see, by name, with the last day before today they came."""
    return list(_children_of(guardian).with_last_here(timezone.localdate()).with_last_move())


def _children_of(guardian: Guardian) -> AthleteQuerySet:
    return (
        Athlete.objects.filter(guardianships__guardian=guardian, guardianships__may_see=True)
        .select_related("tier")
        .distinct()
    )


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    """A page that ran out says so on the way to the sign-in, for those who came by a link."""
    if request.session.get(FAMILY_LINK):
        return redirect("family_open")
    return redirect_to_login(request.get_full_path())

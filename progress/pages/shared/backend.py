"""How a signed-in user is fetched: with the role that every page asks for."""

from typing import Any

from allauth.account.auth_backends import AuthenticationBackend
from django.contrib.auth.models import User


class KnowsWhoIsAsking(AuthenticationBackend):
    """The library's sign-in; a user comes with staff and guardian records in the same query."""

    def get_user(self, user_id: Any) -> User | None:
        """Return the active user with this key, None if there is none."""
        found = User.objects.select_related("staff_member", "guardian").filter(pk=user_id).first()
        return found if found is not None and self.user_can_authenticate(found) else None

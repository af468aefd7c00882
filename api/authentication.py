"""Who asks: a device by its token, or a page by its session."""

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from inventory.people.models import Device, User
from inventory.people.queries import device_of


class DeviceToken(BaseAuthentication):
    """`Authorization: Bearer TOKEN`, the token a device was given once."""

    def authenticate(self, request: Request) -> tuple[User, Device] | None:
        """The device and its person, or nothing when no token was sent."""
        words = request.headers.get("Authorization", "").split()
        if len(words) != 2 or words[0].lower() != "bearer":
            return None
        device = device_of(words[1])
        if device is None:
            raise AuthenticationFailed(
                "This token is not known or was revoked: register the device again."
            )
        return device.person, device

    def authenticate_header(self, request: Request) -> str:
        """What a stranger is told to bring."""
        return "Bearer"


class PageSession(SessionAuthentication):
    """The page's own session, with its CSRF token."""


class DeviceTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the description names the token."""

    target_class = "api.authentication.DeviceToken"
    name = "deviceToken"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        """A bearer token."""
        return {"type": "http", "scheme": "bearer"}


class PageSessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the description names the session."""

    target_class = "api.authentication.PageSession"
    name = "pageSession"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        """The session's cookie."""
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}

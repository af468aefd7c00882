"""Reads about the shop and its people."""

from datetime import datetime

from django.contrib.sessions.models import Session
from django.db.models import QuerySet
from django.utils.timezone import localdate

from inventory.errors import Refused
from inventory.people.models import (
    Device,
    ListHeader,
    LogLink,
    Shop,
    SignInEvent,
    User,
)
from inventory.people.rules import token_hash
from inventory.prepared import Prepared

_OF_TOKEN = Prepared(
    lambda digest: Device.objects.select_related("person").filter(
        token_hash=digest, revoked_at__isnull=True, person__is_active=True
    )
)


def shop() -> Shop:
    """The shop's one row of settings, made with its defaults at first need."""
    return Shop.objects.get_or_create(pk=1)[0]


def device_of(token: str) -> Device | None:
    """The device that shows this token, unless it was revoked."""
    return _OF_TOKEN.first(token_hash(token))


def devices() -> QuerySet[Device]:
    """Every device that may scan or might once, the newest first."""
    return Device.objects.select_related("person").order_by("-pk")


def device_numbered(pk: int) -> Device:
    """Errors: `people.no_device`."""
    row = devices().filter(pk=pk).first()
    if row is None:
        raise Refused("people.no_device", f"There is no device {pk} here.")
    return row


def has_owner() -> bool:
    """Whether the shop is somebody's yet."""
    return User.objects.filter(is_superuser=True).exists()


def header_called(mark: str) -> ListHeader | None:
    """What was said of a list's header, if it was seen before."""
    return ListHeader.objects.filter(mark=mark).first()


def is_called(pk: int, account: str) -> bool:
    """Whether this person signs in under that name."""
    return User.objects.filter(pk=pk, username=account).exists()


def everybody() -> QuerySet[User]:
    """Everybody who works or worked in the shop, in the order they came."""
    return User.objects.order_by("pk")


def person_numbered(pk: int) -> User:
    """Errors: `people.no_person`."""
    row = User.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("people.no_person", f"There is no person {pk} here.")
    return row


def people() -> QuerySet[User]:
    """Everybody who works in the shop, in the order they came."""
    return User.objects.filter(is_active=True).order_by("pk")


def mail_address() -> str:
    """Where alerts are sent; empty when nobody has an address."""
    return shop().mail_to or (
        User.objects.filter(is_superuser=True, is_active=True)
        .exclude(email="")
        .order_by("pk")
        .values_list("email", flat=True)
        .first()
        or ""
    )


def open_sign_ins(now: datetime) -> list[SignInEvent]:
    """Whoever is signed in, the last that came first."""
    rows = SignInEvent.objects.filter(how=SignInEvent.How.CAME, ended_at=None)
    alive = Session.objects.filter(expire_date__gt=now).values("session_key")
    return list(rows.filter(session__in=alive).order_by("-at", "-pk"))


def own_sign_ins(user: User, now: datetime) -> list[SignInEvent]:
    """Where somebody is signed in, the last that came first."""
    return [row for row in open_sign_ins(now) if row.account == user.username]


def own_sign_in(user: User, pk: int) -> SignInEvent:
    """One of somebody's own. Errors: `people.no_sign_in`."""
    row = sign_in_numbered(pk)
    if row.account != user.username:
        raise Refused("people.no_sign_in", f"There is no sign-in {pk} of yours.")
    return row


def latest_sign_ins(most: int) -> list[SignInEvent]:
    """The last ones who came, or tried to."""
    rows = SignInEvent.objects.select_related("ended_by").order_by("-at", "-pk")
    return list(rows[:most])


def sign_in_numbered(pk: int) -> SignInEvent:
    """Errors: `people.no_sign_in`."""
    rows = SignInEvent.objects.filter(how=SignInEvent.How.CAME)
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Refused("people.no_sign_in", f"There is no sign-in {pk}.")
    return row


def log_links(now: datetime) -> list[LogLink]:
    """Those that still open the builder's log."""
    rows = LogLink.objects.filter(ended_at=None, last_day__gte=localdate(now))
    return list(rows.select_related("made_by"))


def log_link_numbered(pk: int) -> LogLink:
    """Errors: `people.no_log_link`."""
    row = LogLink.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("people.no_log_link", f"There is no link {pk} to the log.")
    return row

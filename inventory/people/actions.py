"""Writers of people, devices and the shop's settings."""

import hashlib
import secrets
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta

from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory.errors import Refused
from inventory.people.models import (
    Device,
    ListHeader,
    LogLink,
    Shop,
    SignInEvent,
    SignInTries,
    User,
)
from inventory.people.queries import shop
from inventory.people.rules import Role, Scope, token_hash

NOTED_EVERY, LONG_AWAY = timedelta(hours=1), timedelta(days=7)
LONGEST_LINK, SEEN_EVERY = timedelta(days=366), timedelta(minutes=1)


def create_owner(*, name: str, password: str, email: str = "") -> User:
    """Make the shop's first person.

    Errors: `people.owner_exists`, `people.password`, `people.name`.
    """
    if not name.strip():
        raise Refused("people.name", "The owner needs a name: type one.")
    if User.objects.filter(is_superuser=True).exists():
        raise Refused("people.owner_exists", "This shop has an owner already.")
    user = User(username=name.strip(), email=email, is_superuser=True, is_staff=True)
    _set_password(user, password)
    return _let_in(user)


def found_shop(*, name: str, owner: str, password: str, email: str = "") -> User:
    """Name an empty shop and make its owner. Errors: as `create_owner`, `settle_shop`."""
    with transaction.atomic():
        user = create_owner(name=owner, password=password, email=email)
        settle_shop(changes={"name": name.strip()}, by=user)
        return user


def add_person(*, name: str, password: str, role: Role, by: User) -> User:
    """Somebody new in the shop. Errors: `people.name`, `people.password`."""
    user = User(username=name.strip(), kept_role=_kept(role))
    if not user.username:
        raise Refused("people.name", "Who is it? Type a name.")
    _set_password(user, password)
    return _let_in(user)


def give_role(*, user: User, role: Role, by: User) -> None:
    """Let somebody do more, or less. Errors: `people.owner`."""
    _not_the_owner(user)
    User.objects.filter(pk=user.pk).update(kept_role=_kept(role))


def _kept(role: Role) -> str:
    if role is Role.OWNER:
        raise Refused("people.owner", "A shop has one owner: choose another role.")
    return role.value


def give_password(*, user: User, password: str, by: User) -> None:
    """Another password; whoever is signed in as that person is signed out.

    Errors: `people.password`.
    """
    _set_password(user, password)
    user.save(update_fields=["password"])


def give_own_password(*, user: User, password: str, session: str, at: datetime) -> None:
    """Another password of one's own: signed out everywhere but in this session.

    Errors: `people.password`.
    """
    with transaction.atomic():
        give_password(user=user, password=password, by=user)
        rows = SignInEvent.objects.filter(account=user.username, ended_at=None)
        others = rows.exclude(session=session)
        Session.objects.filter(session_key__in=others.values("session")).delete()
        others.update(ended_at=at, ended_by=user)


def session_goes_on(*, before: str, after: str) -> None:
    """A session has another key from now on: it is the same sign-in."""
    SignInEvent.objects.filter(session=before, ended_at=None).update(session=after)


def leave(*, user: User, by: User, back: bool = False) -> None:
    """Somebody leaves, or is back: what they did stays theirs. Errors: `people.owner`."""
    _not_the_owner(user)
    User.objects.filter(pk=user.pk).update(is_active=back)


def _not_the_owner(user: User) -> None:
    if user.is_superuser:
        raise Refused("people.owner", "The owner stays the owner. Nothing was changed.")


def _let_in(user: User) -> User:
    try:
        with transaction.atomic():
            user.save()
    except IntegrityError as error:
        raise Refused(
            "people.name", f"The name {user.username} is taken: choose another."
        ) from error
    return user


def _set_password(user: User, password: str) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise Refused(
            "people.password",
            " ".join(error.messages) + " Choose a longer phrase.",
        ) from error
    user.set_password(password)


def register_device(
    *, name: str, by: User, now: datetime, scope: Scope = Scope.ALL
) -> tuple[Device, str]:
    """Give a device a token, shown this once. Errors: `people.device_name`."""
    token = secrets.token_urlsafe(32)
    try:
        with transaction.atomic():
            device = Device.objects.create(
                name=name.strip(),
                person=by,
                token_hash=token_hash(token),
                made_at=now,
                scope=scope.value,
            )
    except IntegrityError as error:
        raise Refused(
            "people.device_name", f"A device is called {name} already: choose another."
        ) from error
    return device, token


def revoke_device(*, device: Device, by: User, now: datetime) -> None:
    """End a device's token at once."""
    Device.objects.filter(pk=device.pk, revoked_at=None).update(revoked_at=now)


def settle_shop(*, changes: Mapping[str, object], by: User) -> Shop:
    """Change the shop's settings. Errors: `people.settings` with the field."""
    row = shop()
    for field, value in changes.items():
        setattr(row, field, value)
    try:
        row.full_clean()
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise Refused(
            "people.settings",
            f"{field.replace('_', ' ')}: {messages[0]}",
            {"field": field},
        ) from error
    row.save()
    return row


def hold_numbers() -> None:
    """Until this transaction ends nobody else gives the next number of anything.

    On an engine that lets one writer in at a time it holds already.
    """
    shop()
    Shop.objects.select_for_update().get(pk=1)


def note_visit(*, now: datetime) -> timedelta | None:
    """Remember that somebody opened the shop; how long nobody had, if it was long.

    Noted once an hour. Of two pages opened at once only one is told of the gap.
    """
    seen = shop().seen_at
    if seen is not None and now - seen < NOTED_EVERY:
        return None
    noted = Shop.objects.filter(pk=1, seen_at=seen).update(seen_at=now)
    if not noted or seen is None or now - seen <= LONG_AWAY:
        return None
    return now - seen


def want_summary() -> None:
    """Have a letter sum up what is open, as soon as the worker looks."""
    Shop.objects.filter(pk=1).update(sum_is_due=True)


def claim_summary(*, day: date, before: Shop) -> bool:
    """Whether the letter of this day is ours to send: of several workers, one's."""
    there = Shop.objects.filter(
        pk=1, summed_on=before.summed_on, sum_is_due=before.sum_is_due
    )
    return there.update(summed_on=day, sum_is_due=False) == 1


def remember_header(*, mark: str, columns: Mapping[str, str], guessing: bool) -> None:
    """Keep which columns a list's own names mean, for the next list of the same names."""
    ListHeader.objects.update_or_create(
        mark=mark, defaults={"columns": dict(columns), "guessing": guessing}
    )


# So many passwords for one account are looked at in an hour, and so many from one address
# in a minute: to look at one costs a tenth of a second of the machine.
ACCOUNT_TRIES, ACCOUNT_SPAN = 10, timedelta(hours=1)
ADDRESS_TRIES, ADDRESS_SPAN = 30, timedelta(minutes=1)


def spend_sign_in(
    *, account: str, device: str, address: str, now: datetime
) -> datetime | None:
    """Count a try to sign in before its password is looked at.

    None where it may be; else when the next one may. `device` is the key of one that
    signed in to this account before, '' for a strange one: what strangers guess does not
    keep it out. Many at once are counted one by one.
    """
    SignInTries.objects.filter(seen_at__lt=now - timedelta(days=1)).delete()
    for what, most, span in (
        (("address", address), ADDRESS_TRIES, ADDRESS_SPAN),
        (("account", account.casefold(), device), ACCOUNT_TRIES, ACCOUNT_SPAN),
    ):
        until = _spend(_sign_in_mark(*what), most, span, now)
        if until is not None:
            return until
    return None


def _sign_in_mark(*what: str) -> str:
    return hashlib.sha256("\0".join(what).encode()).hexdigest()


def _spend(mark: str, most: int, span: timedelta, now: datetime) -> datetime | None:
    with transaction.atomic():
        SignInTries.objects.get_or_create(mark=mark, defaults={"seen_at": now})
        row = SignInTries.objects.select_for_update().get(mark=mark)
        times = [at for at in row.times if at > (now - span).timestamp()]
        if len(times) >= most:
            return datetime.fromtimestamp(times[-most], UTC) + span
        row.times, row.seen_at = [*times, now.timestamp()], now
        row.save(update_fields=["times", "seen_at"])
        return None


def forget_tries(*, account: str, device: str) -> None:
    """Who signed in begins anew."""
    mark = _sign_in_mark("account", account.casefold(), device)
    SignInTries.objects.filter(mark=mark).delete()


# So many of each kind are kept: guesses cannot push out who came.
SIGN_INS_KEPT = 300


def note_sign_in(
    *,
    how: SignInEvent.How,
    account: str,
    at: datetime,
    address: str = "",
    device: str = "",
    session: str = "",
) -> None:
    """Somebody came, or tried to.

    A name that nobody here has is not kept: it may be a password in the wrong field.
    """
    known = User.objects.filter(username__iexact=account).exists()
    SignInEvent.objects.create(
        how=how,
        account=account[:150] if known else "",
        at=at,
        address=address[:45],
        device=device[:120],
        session=session,
    )
    rows = SignInEvent.objects.filter(how=how).order_by("-at", "-pk")
    older = list(rows.values_list("pk", flat=True)[SIGN_INS_KEPT:])
    if older:
        SignInEvent.objects.filter(pk__in=older).delete()


def end_sign_in(*, event: SignInEvent, by: User, at: datetime) -> None:
    """Whoever came is signed out wherever that was; once, whoever says it first."""
    Session.objects.filter(session_key=event.session).delete()
    rows = SignInEvent.objects.filter(pk=event.pk, ended_at=None)
    rows.update(ended_at=at, ended_by=by)


def ended_session(*, session: str, by: User, at: datetime) -> None:
    """Somebody signed out."""
    if session:
        rows = SignInEvent.objects.filter(session=session, ended_at=None)
        rows.update(ended_at=at, ended_by=by)


def make_log_link(
    *, who: str, last_day: date, by: User, now: datetime
) -> tuple[LogLink, str]:
    """A way to the builder's log, its token shown this once. Errors: `people.log_link`."""
    today = timezone.localdate(now)
    if not today <= last_day <= today + LONGEST_LINK:
        raise Refused(
            "people.log_link",
            f"A link lasts {LONGEST_LINK.days} days at most, and ends no earlier than "
            "today: choose another last day.",
        )
    token = secrets.token_urlsafe(24)
    row = LogLink.objects.create(
        who=who.strip(),
        token_hash=token_hash(token),
        made_at=now,
        made_by=by,
        last_day=last_day,
    )
    return row, token


def end_log_link(*, link: LogLink, now: datetime) -> None:
    """It opens nothing from now on."""
    LogLink.objects.filter(pk=link.pk, ended_at=None).update(ended_at=now)


def come_by_log_link(*, token: str, now: datetime) -> LogLink:
    """The link that a token is, and note that it was used. Errors: `people.no_log_link`."""
    row = LogLink.objects.filter(
        token_hash=token_hash(token),
        ended_at=None,
        last_day__gte=timezone.localdate(now),
    ).first()
    if row is None:
        raise Refused(
            "people.no_log_link",
            "This link has ended, or never was one: ask whoever gave it to you for "
            "another.",
        )
    # A page with thirty pictures is one use, and thirty writes would hold up a scan.
    if row.seen_at is None or now - row.seen_at > SEEN_EVERY:
        LogLink.objects.filter(pk=row.pk).update(seen_at=now)
    return row

"""Who works in the shop, and what each may do."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_POST,
    require_safe,
)

from inventory.people.actions import (
    add_person,
    end_sign_in,
    give_password,
    give_role,
    leave,
)
from inventory.people.queries import (
    everybody,
    latest_sign_ins,
    open_sign_ins,
    person_numbered,
    sign_in_numbered,
)
from inventory.people.rules import Role
from inventory.web.parts import checked, done, here, keep, person
from inventory.web.shopforms import NewPassword, NewPerson, NewRole

# So many of the last sign-ins are shown.
LATEST = 40


def _page(**more: Any) -> dict[str, Any]:
    return {
        "rows": [(row, NewRole(initial={"role": row.role})) for row in everybody()],
        "roles": list(Role),
        "new": NewPerson(),
        "password": NewPassword(),
        "signed_in": open_sign_ins(timezone.now()),
        "latest": latest_sign_ins(LATEST),
        **more,
    }


@require_safe
def people(request: HttpRequest) -> HttpResponse:
    """Everybody, their role, and somebody new."""
    return render(request, "people.html", _page())


@require_POST
def person_new(request: HttpRequest) -> HttpResponse:
    """Somebody new."""
    form = NewPerson(request.POST)
    keep(request, "people.html", _page(new=form))
    data = checked(form)
    row = add_person(
        name=data["name"],
        password=data["password"],
        role=Role(data["role"]),
        by=person(request),
    )
    said = f"{row} may sign in. Print the badge under Labels, for the bench."
    return done(request, said, "people")


@require_POST
def person_role(request: HttpRequest, pk: int) -> HttpResponse:
    """Let somebody do more, or less."""
    row = here(person_numbered, pk)
    keep(request, "people.html", _page())
    role = Role(checked(NewRole(request.POST))["role"])
    give_role(user=row, role=role, by=person(request))
    return done(request, f"{row} is {role} now.", "people")


@require_POST
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Another password for somebody who forgot theirs."""
    row = here(person_numbered, pk)
    keep(request, "people.html", _page())
    password = checked(NewPassword(request.POST))["password"]
    give_password(user=row, password=password, by=person(request))
    return done(request, f"{row} has another password, and is signed out.", "people")


@require_POST
def person_leave(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody leaves; or is back."""
    row = here(person_numbered, pk)
    keep(request, "people.html", _page())
    is_back = bool(request.POST.get("back"))
    leave(user=row, by=person(request), back=is_back)
    said = "may sign in again" if is_back else "may no longer sign in"
    return done(request, f"{row} {said}; what they did stays theirs.", "people")


@require_POST
def sign_in_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign somebody out, wherever they are."""
    row = here(sign_in_numbered, pk)
    end_sign_in(event=row, by=person(request), at=timezone.now())
    return done(request, f"{row.account} is signed out there.", "people")

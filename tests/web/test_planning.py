"""The plan changed on pages: what is asked first, what is refused, what is kept."""

import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.people.models import User
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Need, PlanChange, Seam, Stage
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.editing import mark
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.scanning.queries import bench_view
from inventory.trade import codes
from tests.web.conftest import Said


def seen(row: Stage | Assembly) -> dict[str, str]:
    """The mark that a page of a stage or assembly carries."""
    spot = (row.stage.name, row.name) if isinstance(row, Assembly) else (row.name,)
    return {"seen": mark(stored_plan(current_build()), spot)}


def post(page: Client, where: str, /, *args: Any, **data: Any) -> Any:
    """Send a form and look where it leads."""
    return page.post(reverse(where, args=args), data, follow=True)


def sure(response: Any) -> dict[str, str]:
    """What the page that asks sends when somebody says yes."""
    found = response.context["found"]
    return dict(response.context["sent"]) | {"sure": found.mark}


@pytest.mark.slow
def test_a_plan_is_made_from_nothing_on_pages(page: Client, db: None) -> None:
    post(page, "stage-new", name="Fin", start="2027-05-01")
    stage = Stage.objects.get()
    post(page, "assembly-new", stage.pk, name="Left skin", how_many="2")
    skin = Assembly.objects.get()
    for name, data in (
        ("assembly-ask", {"callout": "ms20470ad4-5", "each": "40"}),
        ("assembly-ask", {"kind": "other", "name": "cable tie", "each": "6"}),
        ("assembly-ask", {"callout": "ZZ-PLUG 7", "each": "3"}),
        (
            "assembly-drill",
            {"hole_size": "#30", "holes": "40", "operation": "open", "days_held": "3"},
        ),
        (
            "assembly-seam",
            {
                "length": "10",
                "pitch": "1",
                "sheets": ".032+.032",
                "diameter": "1/8",
                "head": "universal",
            },
        ),
    ):
        said = post(page, name, skin.pk, **data, **seen(skin))
        assert b"new " in said.content, name
    assert Seam.objects.count() == 1
    at = next(
        at
        for at, line, *_rest in said.context["lines"]
        if line.kind == "seam" and line.number
    )
    asked = post(page, "assembly-lines", skin.pk, **{f"drop-{at}": "on"}, **seen(skin))
    assert b"dropped seam" in asked.content
    page.post(reverse("assembly-lines", args=[skin.pk]), sure(asked))
    assert Seam.objects.count() == 0
    post(page, "assembly-copy", skin.pk, name="Right skin", **seen(skin))
    assert Need.objects.filter(assembly__name="Right skin").count() == 3
    shown = page.get(reverse("assembly", args=[skin.pk])).content
    assert b"cable tie" in shown
    assert b"enlarge" in shown
    assert b"ZZ-PLUG 7" in page.get(reverse("unread")).content
    history = page.get(reverse("plan-history")).content
    assert history.count(b"Take it back") == PlanChange.objects.count() == 9


@pytest.mark.slow
def test_what_takes_away_is_asked_first_and_can_be_taken_back(
    page: Client, spar: Assembly
) -> None:
    asked = post(page, "assembly-lines", spar.pk, **{"line-0": "0"}, **seen(spar))
    assert b"dropped need: Fin / Spar / MS20426AD3-3.5 (was 30 each)" in asked.content
    assert Need.objects.filter(assembly=spar).exists()
    done = post(page, "assembly-lines", spar.pk, **sure(asked))
    assert b"Spar: other numbers" in done.content
    assert not Need.objects.filter(assembly=spar).exists()
    back = post(page, "change-back", PlanChange.objects.first().pk)  # type: ignore[union-attr]
    assert b"Taken back: Spar: other numbers" in back.content
    assert Need.objects.get(assembly=spar).each == 30


@pytest.mark.slow
def test_what_is_closed_wants_a_tick_of_its_own(
    page: Client, spar: Assembly, owner: User, now: Any, sentence: Said
) -> None:
    place_to_pull_for(assembly=spar, by=owner, now=now)
    close(assembly=spar, by=owner, now=now)
    asked = post(page, "assembly-lines", spar.pk, **{"line-0": "31"}, **seen(spar))
    assert b"Spar is closed: change" in asked.content
    refused = post(page, "assembly-lines", spar.pk, **sure(asked))
    assert "Spar is closed" in sentence(refused)
    post(page, "assembly-lines", spar.pk, **sure(asked), closed_too="on")
    assert Need.objects.get(assembly=spar).each == 31


@pytest.mark.slow
def test_a_stale_page_says_so_and_shows_what_is(
    page: Client, spar: Assembly, sentence: Said
) -> None:
    old = seen(spar)
    post(page, "assembly-lines", spar.pk, **{"line-0": "31"}, **old)
    stale = post(page, "assembly-lines", spar.pk, **{"line-0": "40"}, **old)
    assert stale.status_code == 409
    assert "Spar was changed since this page was opened" in sentence(stale)
    assert b'value="31"' in stale.content
    wrong = post(page, "assembly-lines", spar.pk, **{"line-0": "300000"}, **seen(spar))
    assert "from 0 to 100000" in sentence(wrong)
    assert b'value="300000"' in wrong.content
    stray = post(page, "assembly-ask", spar.pk, callout="X", each="2", **old)
    assert stray.status_code == 409
    assert b'value="X"' in stray.content


@pytest.mark.slow
def test_stages_are_named_copied_split_and_dropped(
    page: Client, planned: list[Stage], sentence: Said
) -> None:
    fin, rudder = planned
    spot = reverse("assembly-move", args=[fin.assemblies.last().pk])  # type: ignore[union-attr]
    page.post(spot, {"places": "-1"})
    assert [row.name for row in fin.assemblies.all()] == ["Skin", "Spar"]
    doubled = post(page, "stage-name", fin.pk, name="Rudder", **seen(fin))
    assert "has a Rudder already" in sentence(doubled)
    assert b'value="Rudder"' in doubled.content
    post(page, "stage-name", fin.pk, name="Left fin", **seen(fin))
    fin.refresh_from_db()
    post(page, "stage-copy", fin.pk, name="Right fin", **seen(fin))
    post(page, "stage-split", fin.pk, name="Spars", chosen=["Spar"], **seen(fin))
    asked = post(page, "stage-drop", rudder.pk, **seen(rudder))
    assert b"dropped stage: Rudder" in asked.content
    post(page, "stage-drop", rudder.pk, **sure(asked))
    names = ["Left fin", "Spars", "Right fin"]
    assert list(Stage.objects.values_list("name", flat=True)) == names


@pytest.mark.slow
def test_an_assembly_is_named_split_and_dropped(page: Client, spar: Assembly) -> None:
    naming = {"name": "Main spar", "how_many": "2", "stage": "Rudder"}
    post(page, "assembly-change", spar.pk, **naming, **seen(spar))
    spar = Assembly.objects.get(pk=spar.pk)
    assert (spar.stage.name, spar.name, spar.how_many) == ("Rudder", "Main spar", 2)
    split = {"name": "Cap", "chosen": ["1"]}
    none = post(page, "assembly-split", spar.pk, name="Cap", **seen(spar))
    assert none.status_code == 400
    post(page, "assembly-split", spar.pk, **split, **seen(spar))
    cap = Assembly.objects.get(name="Cap")
    assert cap.drillings.get().holes_each == 30
    post(
        page,
        "assembly-drop",
        cap.pk,
        **sure(post(page, "assembly-drop", cap.pk, **seen(cap))),
    )
    assert not Assembly.objects.filter(name="Cap").exists()


def test_holes_are_put_in_place_of_others_and_a_list_is_renamed(
    page: Client, spar: Assembly
) -> None:
    text = page.get(reverse("assembly-plan", args=[spar.pk])).content.decode()
    assert "In place of" in text
    lines = page.get(reverse("assembly-plan", args=[spar.pk])).context["lines"]
    at = next(at for at, line, *_rest in lines if line.kind == "holes")
    holes = {"hole_size": "#30", "holes": "30", "operation": "full", "instead": str(at)}
    post(page, "assembly-drill", spar.pk, **holes, **seen(spar))
    assert [row.hole_size for row in spar.drillings.all()] == ["#30"]
    wrong = {**holes, "instead": "77"}
    refused = post(page, "assembly-drill", spar.pk, **wrong, **seen(spar))
    assert refused.status_code == 400
    post(page, "list-name", list="plan", name="Fin kit")
    assert "Fin kit" in page.get(reverse("plan")).content.decode()
    assert post(page, "list-name", list="Fin kit", name="").status_code == 400


@pytest.mark.slow
def test_a_second_list_is_added_or_said_to_be_the_first(
    page: Client, planned: list[Stage]
) -> None:
    text = b"stage,assembly,kind,name,each,unit\nFin,Spar,sealant,B-2,50,ml\n"
    looked = page.post(
        reverse("plan-import"), {"file": SimpleUploadedFile("sub.csv", text)}
    )
    assert b"It is a new list" in looked.content
    assert b"gone" not in looked.content
    start = dict(looked.context["apply"].initial)
    other = page.post(reverse("plan-import"), {**start, "list": "plan"})
    assert b"It is the list" in other.content
    assert b"dropped need" in other.content
    page.post(reverse("plan-apply"), start)
    assert Need.objects.count() == 4
    spar = page.get(reverse("assembly", args=[Assembly.objects.get(name="Spar").pk]))
    assert b"50 ml" in spar.content
    asked = post(page, "list-drop", list="plan")
    post(page, "list-drop", **sure(asked))
    assert list(Need.objects.values_list("origin", flat=True)) == ["sub"]
    assert post(page, "list-drop", list="nowhere").status_code == 400


@pytest.mark.slow
@pytest.mark.parametrize("name", ["plan-csv", "plan-xlsx"])
def test_the_plan_goes_out_and_comes_in_unchanged(
    page: Client, planned: list[Stage], name: str
) -> None:
    data = page.get(reverse(name))
    assert "attachment" in data["Content-Disposition"]
    file = SimpleUploadedFile("any name", data.content)
    looked = page.post(reverse("plan-import"), {"file": file})
    assert b"holds already" in looked.content


@pytest.mark.slow
def test_what_is_not_counted_by_the_piece_shows_its_unit(
    page: Client, spar: Assembly, owner: User, now: Any
) -> None:
    asked = {"kind": "sealant", "name": "class B-2", "each": "50"}
    post(page, "assembly-ask", spar.pk, **asked, **seen(spar))
    place_to_pull_for(assembly=spar, by=owner, now=now)
    for name, row, words in (
        ("assembly", spar.pk, b"50 ml"),
        ("assembly-plan", spar.pk, b"class B-2"),
        ("stage", spar.stage_id, b"ml</small>"),
        ("close-up", spar.pk, b"class B-2 (ml)"),
        ("assembly-record", spar.pk, b"class B-2 (ml)"),
        ("tray", None, b"50 ml"),
    ):
        where = reverse(name, args=[row] if row else [])
        assert words in page.get(where).content, name
    bench = bench_called(key="one", person=owner, now=now)
    sent = Sent(uuid.uuid4(), codes.make("S", spar.pk))
    scan(bench=bench, sent=sent, by=owner, now=now)
    bench.refresh_from_db()
    view = bench_view(bench, now)
    assert [row["words"] for row in view["assembly"]["asks"]][-1] == "class B-2 (ml)"

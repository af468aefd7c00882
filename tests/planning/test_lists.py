"""A plan of several lists: one is added beside another, and replaced by itself alone."""

from datetime import date
from importlib import import_module
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import described
from inventory.errors import Refused
from inventory.planning.actions import editing, importing
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Drilling, Need, PlanChange, Seam, Stage
from inventory.planning.queries import current_build, why_needed
from inventory.planning.queries.asking import asked_by
from inventory.planning.queries.stored import lists_of, stored_assembly, stored_plan
from inventory.planning.rules.compare import changes, plan_of
from inventory.planning.rules.lines import COLUMNS, parse
from inventory.planning.rules.lists import merged, rename_list, replaced, without_list
from inventory.planning.rules.numbering import lines_at
from inventory.planning.rules.unfolding import plan_csv
from inventory.sheets import read

pytestmark = pytest.mark.django_db
KIT = """stage,start,assembly,how_many,callout,each
Fin,2027-03-20,Spar,2,MS20426AD3-3.5,30
Fin,2027-03-20,Skin,1,MS20426AD3-4,12
Rudder,,Frame,1,MS20470AD4-5,55
"""
SUB = """stage,assembly,callout,each,kind,name,unit
Fin,Spar,MS20426AD3-3.5,4,,,
Fin,Fairing,,20,other,cable tie,
Lights,Harness,,50,sealant,class B-2,ml
"""


def look(text, name="kit.csv", origin=""):
    return importing.preview(name=name, data=text.encode(), origin=origin)


def take(text, owner, now, name="kit.csv", **options):
    found = look(text, name, options.pop("origin", ""))
    return importing.apply(found=found, by=owner, now=now, **options)


def asked():
    return sorted(
        (n.assembly.name, n.callout or n.item.words, n.each, n.origin)
        for n in Need.objects.select_related("assembly", "item")
    )


@pytest.fixture
def both(owner, now):
    take(KIT, owner, now)
    take(SUB, owner, now, name="sub.csv")


def test_a_second_list_is_added_beside_the_first(both):
    assert asked() == [
        ("Fairing", "cable tie", 20, "sub"),
        ("Frame", "MS20470AD4-5", 55, "kit"),
        ("Harness", "class B-2", 50, "sub"),
        ("Skin", "MS20426AD3-4", 12, "kit"),
        ("Spar", "MS20426AD3-3.5", 4, "sub"),
        ("Spar", "MS20426AD3-3.5", 30, "kit"),
    ]
    spar = Assembly.objects.get(name="Spar")
    assert spar.how_many == 2
    (row,) = asked_by(spar)
    assert (row.need, row.callouts) == (68, ("MS20426AD3-3.5",))
    assert why_needed(row.item.pk).number == 68
    assert Stage.objects.get(name="Fin").planned_start == date(2027, 3, 20)


def test_each_list_again_changes_nothing_and_replaces_only_its_own(both, owner, now):
    assert look(KIT).changes == []
    assert look(SUB, "sub.csv").changes == []
    found = look(SUB.replace(",20,", ",25,").replace("3.5,4", "3.5,6"), "sub.csv")
    assert [each.sentence for each in found.changes] == [
        "need Fin / Spar / MS20426AD3-3.5: 34 each becomes 36 each",
        "need Fin / Fairing / cable tie: 20 each becomes 25 each",
    ]
    shorter = "\n".join(SUB.splitlines()[:2])
    take(shorter, owner, now, name="sub.csv")
    assert not Assembly.objects.filter(name__in=["Fairing", "Harness"]).exists()
    assert not Stage.objects.filter(name="Lights").exists()
    assert look(KIT).changes == []


def test_another_name_of_the_same_file_is_that_list_and_a_hand_may_say_so(both):
    assert look(KIT, "kit corrected.csv").origin == "kit"
    assert look(KIT, "kit corrected.csv").changes == []
    other = look(KIT, "kit corrected.csv", "wing")
    assert (other.origin, other.known) == ("wing", False)
    assert "30 each" not in str(other.changes)
    little = "stage,assembly,callout,each\nTip,Cap,MS20470AD4-5,2\n"
    assert look(little, "tip.csv").origin == "tip"
    assert look(little, "tip.csv", "sub").known


def test_half_of_what_a_list_asks_makes_a_file_that_list(both):
    head = "stage,assembly,callout,each\n"
    same = "Fin,Skin,MS20426AD3-4,9\nFin,Spar,MS20426AD3-3.5,1\n"
    more = "Tip,Cap,AN3-5A,2\nTip,Cap,AN3-6A,2\n"
    assert look(head + same + more, "any.csv").origin == "kit"
    assert look(f"{head}{same}{more}Tip,Cap,AN3-7A,2\n", "any.csv").origin == "any"
    one = same.splitlines()[0]
    assert look(f"{head}{one}\n", "any.csv").origin == "any"


def test_a_plan_is_read_in_as_many_reads_whatever_it_holds(
    both, django_assert_num_queries
):
    build = current_build()
    with django_assert_num_queries(6):
        plan = stored_plan(build)
    with django_assert_num_queries(5):
        assert lists_of(build) == plan.lists == ["kit", "sub"]
    spar = Assembly.objects.select_related("stage__build").get(name="Spar")
    with django_assert_num_queries(6):
        assert lines_at(stored_assembly(spar), ("Fin", "Spar")) == lines_at(
            plan, ("Fin", "Spar")
        )


def test_a_named_thing_goes_by_its_name_where_a_callout_is_asked_for(both):
    tie = Need.objects.get(assembly__name="Fairing").item
    assert item_for_callout(text="Cable Tie") == tie
    bolt = item_described(what=described("bolt", name="AN3-5A"))
    assert item_for_callout(text="AN3-5A") != bolt


def test_what_two_lists_name_stays_when_one_goes(both, owner, now):
    spar = Assembly.objects.get(name="Spar")
    editing.change(
        edit=lambda plan: without_list(plan, "kit"), said="out", by=owner, now=now
    )
    assert [row[0] for row in asked()] == ["Fairing", "Harness", "Spar"]
    assert Assembly.objects.get(name="Spar").pk == spar.pk
    assert stored_plan(current_build()).lists == ["sub"]
    with pytest.raises(Refused, match="came from kit"):
        editing.look(edit=lambda plan: without_list(plan, "kit"))


def test_a_list_gets_another_name_and_its_file_is_that_list_again(both, owner, now):
    def named(name, origin="kit"):
        return editing.change(
            edit=lambda plan: rename_list(plan, origin, name),
            said="named",
            by=owner,
            now=now,
        )

    spar, before = Assembly.objects.get(name="Spar"), asked()
    change = named("Fin kit, first box")
    assert change.sentences == ["name of a list: kit becomes Fin kit, first box"]
    assert stored_plan(current_build()).lists == ["Fin kit, first box", "sub"]
    assert Assembly.objects.get(name="Spar").pk == spar.pk
    assert Stage.objects.get(name="Fin").origin == "Fin kit, first box"
    assert look(KIT, "Fin kit, first box.csv").changes == []
    # By what it asks, the file of the old name is found to be that list too.
    assert look(KIT).told == "List Fin kit, first box: replaced"
    for name, origin, words in (
        ("sub", "Fin kit, first box", "has a list sub already"),
        ("x", "kit", "came from kit"),
        (" ", "sub", "list"),
    ):
        with pytest.raises(Refused, match=words):
            named(name, origin)
    assert named("sub", "sub") is None
    editing.take_back(change=change, by=owner, now=now)
    assert asked() == before


def test_a_plan_downloaded_is_imported_without_a_difference(both, owner, now):
    editing.redate(
        stage=Stage.objects.get(name="Lights"),
        start=date(2027, 5, 1),
        by=owner,
        now=now,
    )
    text = plan_csv(stored_plan(current_build()))
    found = look(text, "plan.csv")
    assert (found.changes, sorted(found.lists)) == ([], ["kit", "sub"])
    assert found.told == "List kit, sub: replaced"
    assert look(SUB, origin="wing").told == "List wing: added"
    fewer = "\n".join(row for row in text.splitlines() if "cable tie" not in row)
    assert [each.sentence for each in look(fewer).changes] == [
        "dropped assembly: Fin / Fairing (was made once)",
        "dropped need: Fin / Fairing / cable tie (was 20 each)",
    ]


def test_a_line_of_another_list_only_is_a_change_too(owner, now):
    take(KIT, owner, now)
    rows = plan_csv(stored_plan(current_build())).replace(",kit\n", ",by hand\n")
    old = stored_plan(current_build())
    file = plan_of(parse(read("x.csv", rows.encode(), COLUMNS))[0])
    new = replaced(old, file, ["kit", ""])
    (change,) = changes(old, new)
    assert change.sentence == "list of some lines: as it was becomes as the file says"


def test_a_thing_is_asked_for_in_the_unit_it_is_kept_in(owner, now):
    item_described(what=described("sealant", name="class B-2", unit="g"))
    (bad,) = look(SUB).bad
    assert bad.sentence == "class B-2 is kept in g, not in ml: ask for it in g."
    take(SUB.replace(",ml", ","), owner, now)
    assert "class B-2: 50 g each becomes 60 g each" in str(
        [
            each.sentence
            for each in look(SUB.replace(",ml", ",").replace(",50,", ",60,")).changes
        ]
    )


def test_what_is_closed_changes_by_a_file_only_when_somebody_says_so(both, owner, now):
    skin = Assembly.objects.get(name="Skin")
    place_to_pull_for(assembly=skin, by=owner, now=now)
    close(assembly=skin, by=owner, now=now)
    more = KIT.replace("AD3-4,12", "AD3-4,14")
    assert look(more).closed == ["Skin"]
    assert look(more.replace("AD4-5,55", "AD4-5,56")).closed == ["Skin"]
    with pytest.raises(Refused, match="Skin is closed: say that it may change"):
        take(more, owner, now)
    assert ("Skin", "MS20426AD3-4", 12, "kit") in asked()
    take(more, owner, now, closed_too=True)
    assert ("Skin", "MS20426AD3-4", 14, "kit") in asked()
    assert look(KIT.replace("AD4-5,55", "AD4-5,56").replace(",12", ",14")).closed == []


@pytest.mark.parametrize(
    ("old", "file", "both"),
    [
        ("abc", "abc", "abc"),
        ("abc", "cab", "cab"),
        ("abc", "ca", "cba"),
        ("abc", "axc", "axbc"),
        ("abc", "xb", "axbc"),
        ("abc", "xy", "abcxy"),
        ("", "ab", "ab"),
        ("abc", "bxyc", "abxyc"),
    ],
)
def test_two_orders_become_one(old, file, both):
    assert "".join(merged(old, file)) == both


def test_a_shop_of_one_file_learns_which_list_it_has(owner, now):
    """Before lists, nothing said where a line came from: the last file's name does."""
    seam = "Wing,,Splice,1,,,10,1,.032+.032,1/8\n"
    head = (
        "stage,start,assembly,how_many,callout,each,seam_length,pitch,sheets,diameter\n"
    )
    text = head + KIT.split("\n", 1)[1].replace("0\n", "0,,,,\n") + seam
    take(text, owner, now, name="my  kit.csv")
    models = (Stage, Assembly, Need, Seam, Drilling)
    for model in models:
        model.objects.update(origin="")
    Seam.objects.update(days_held=None)
    PlanChange.objects.update(said="", patch=None)
    migration = import_module("inventory.migrations.0023_lists_and_hands")
    migration.name_the_list(apps, SimpleNamespace(connection=connection))
    origins = [model.objects.values_list("origin", flat=True) for model in models]
    assert {name for names in origins for name in names} == {"my kit"}
    assert look(text, "my  kit.csv").changes == []
    assert look(plan_csv(stored_plan(current_build()))).changes == []
    with pytest.raises(Refused, match="older than what is kept"):
        editing.take_back(change=PlanChange.objects.get(), by=owner, now=now)

"""A plan file in, its bad rows and its differences out."""

import io

import pytest
from openpyxl import Workbook

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import settle_rechecks
from inventory.ledger.queries import rechecks
from inventory.planning.actions import importing
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Need, PlanChange, Stage
from inventory.planning.queries.asking import asked_by
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.example import plan_example

pytestmark = pytest.mark.django_db
PLAN = plan_example()


def take(text, owner, now, name="plan.csv", **options):
    data = text if isinstance(text, bytes) else text.encode()
    found = importing.preview(name=name, data=data)
    return importing.apply(found=found, by=owner, now=now, **options)


def test_the_example_imports_whole(owner, now):
    take(PLAN, owner, now, name=f"{'p' * 170}.csv")
    assert PlanChange.objects.get().file_name == "p" * 160
    rows = Stage.objects.values_list("position", "name")
    assert list(rows) == [(1, "Fin"), (2, "Rudder")]
    assert all(row.wide for row in rechecks())
    assert Assembly.objects.count() == 5
    assert sum(n.each * n.assembly.how_many for n in Need.objects.all()) == 670


def test_the_same_file_again_changes_nothing(owner, now):
    take(PLAN, owner, now)
    before = list(Need.objects.values_list()), list(Stage.objects.values_list())
    assert importing.preview(name="plan.csv", data=PLAN.encode()).changes == []
    assert take(PLAN, owner, now) is None
    assert (
        list(Need.objects.values_list()),
        list(Stage.objects.values_list()),
    ) == before
    assert PlanChange.objects.count() == 1


def test_a_corrected_file_shows_its_difference_before_it_is_applied(owner, now):
    take(PLAN, owner, now)
    corrected = PLAN.replace("MS20470AD4-5,96", "MS20470AD4-5,90").replace(
        "Fin,2027-03-01", "Fin,2027-04-01"
    )
    found = importing.preview(name="plan.csv", data=corrected.encode())
    sentences = [change.sentence for change in found.changes]
    assert "need Fin / Spar / MS20470AD4-5: 96 each becomes 90 each" in sentences
    assert "stage Fin: start 1 Mar 2027 becomes start 1 Apr 2027" in sentences
    assert not found.first
    assert Need.objects.get(callout="MS20470AD4-5").each == 96
    importing.apply(found=found, by=owner, now=now)
    assert Need.objects.get(callout="MS20470AD4-5").each == 90


def test_xlsx_says_the_same_as_csv(owner, now):
    book = Workbook()
    for line in PLAN.splitlines():
        book.active.append(
            [int(c) if c.isdigit() else c or None for c in line.split(",")]
        )
    out = io.BytesIO()
    book.save(out)
    take(PLAN, owner, now)
    assert importing.preview(name="plan.xlsx", data=out.getvalue()).changes == []


def test_every_bad_row_comes_back_and_nothing_is_imported(owner, now):
    bad = PLAN + "\n".join(
        [
            ",,Spar,0,MS20470AD4-5,9",
            "Fin,soon,Spar,1,MS20470AD4-5,9",
            "Fin,2027-03-01,Spar,1,MS20470AD4-5,six",
            "Fin,2027-03-01,Spar,2,MS20470AD4-6,9",
            "Fin,2027-03-01,Tip,1,,,#999,40",
            "Fin,2027-03-01,Tip,1,,",
        ]
    )
    found = importing.preview(name="plan.csv", data=bad.encode())
    assert [row.line for row in found.bad] == [8, 9, 10, 12, 13, 11]
    said = " ".join(row.sentence for row in found.bad)
    for words in ("how many' is '0'", "2027-03-31", "'six'", "hole size", "nothing"):
        assert words in said
    with pytest.raises(Refused, match="6 rows"):
        importing.apply(found=found, by=owner, now=now)
    assert Stage.objects.count() == 0


def test_a_stage_has_one_start_date(owner, now):
    """The first is kept; every other row names both, and none without a date is wrong."""
    twice = (
        "stage,start,assembly,callout,each\n"
        "Fin,2027-03-01,Spar,MS20470AD4-5,9\nFin,,Skin,MS20470AD4-5,9\n"
        "Fin,2027-03-02,Rib,MS20470AD4-5,9\nRudder,2027-03-02,Rib,MS20470AD4-5,9\n"
    )
    found = importing.preview(name="plan.csv", data=twice.encode())
    assert [row.line for row in found.bad] == [4]
    said = found.bad[0].sentence
    assert "1 Mar 2027" in said
    assert "2 Mar 2027" in said
    importing.apply(found=found, by=owner, now=now, good_rows_only=True)
    starts = dict(Stage.objects.values_list("name", "planned_start"))
    assert {name: f"{day}" for name, day in starts.items()} == {
        "Fin": "2027-03-01",
        "Rudder": "2027-03-02",
    }


def test_good_rows_alone_can_be_asked_for(owner, now):
    take(
        PLAN + "Fin,2027-03-01,Spar,1,MS20470AD4-5,six\n",
        owner,
        now,
        good_rows_only=True,
    )
    assert Assembly.objects.count() == 5


def test_an_unknown_callout_is_kept_and_shown(owner, now):
    take("stage,assembly,callout,each\nFin,Spar,ZZ-PLUG 7,3\n", owner, now)
    need = Need.objects.get()
    assert (need.item.recognised, need.item.kind) == (False, "other")
    assert importing.unread_callouts() == ["ZZ-PLUG 7"]


def test_an_and_ms_are_one_item_and_a_is_not_ad(owner, now):
    take(
        "stage,assembly,callout,each\n"
        "Fin,Spar,AN470AD4-5,3\nFin,Spar,MS20470AD4-5,4\nFin,Spar,MS20470A4-5,5\n",
        owner,
        now,
    )
    asks = asked_by(Assembly.objects.get())
    assert sorted(row.need for row in asks) == [5, 7]


def test_what_the_file_no_longer_names_is_taken_away(owner, now):
    take(PLAN, owner, now)
    fin = [row for row in PLAN.splitlines() if row.startswith(("stage", "Fin"))]
    settle_rechecks({row.item_id: row.wanted for row in rechecks()})
    take("\n".join(fin[:-1]), owner, now)
    assert list(Stage.objects.values_list("name", flat=True)) == ["Fin"]
    assert Need.objects.count() == 2
    gone = {"MS20426AD3-4", "AN470AD3-4", "AN3-5A"}
    assert {row.item.callout for row in rechecks() if row.wide} >= gone


@pytest.mark.slow
def test_pulled_pieces_keep_their_assembly_in_the_plan(owner, now, rivets, ask):
    take(PLAN, owner, now)
    skin = Assembly.objects.get(name="Skin")
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=4, to=place, ask=ask())
    without = "\n".join(row for row in PLAN.splitlines() if ",Skin," not in row)
    with pytest.raises(Refused, match="pieces were pulled"):
        take(without, owner, now)
    assert stored_plan(skin.stage.build).needs


def test_a_closed_assembly_asks_no_more_and_takes_no_more(owner, now):
    take(PLAN, owner, now)
    skin = Assembly.objects.get(name="Skin")
    place_to_pull_for(assembly=skin, by=owner, now=now)
    close(assembly=skin, by=owner, now=now)
    with pytest.raises(Refused, match="re-open"):
        place_to_pull_for(assembly=Assembly.objects.get(pk=skin.pk), by=owner, now=now)


def test_a_taught_callout_takes_its_needs_with_it(owner, now):
    take("stage,assembly,callout,each\nFin,Spar,ZZ-PLUG 7,3\n", owner, now)
    plug = item_for_callout(text="MS20426AD3-3.5")
    assert importing.teach(text="zz-plug 7", item=plug, by=owner) == 1
    assert Need.objects.get().item == plug
    assert importing.unread_callouts() == []
    assert item_for_callout(text="ZZ-PLUG 7") == plug
    assert importing.teach(text="ZZ-PLUG 8", item=plug, by=owner) == 0
    with pytest.raises(Refused, match="already names"):
        importing.teach(
            text="MS20426AD3-3.5", item=item_for_callout(text="AN3-5A"), by=owner
        )

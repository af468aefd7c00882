"""The plan changed by hand: the same differences, the same rows, and taken back."""

from dataclasses import replace
from datetime import date

import pytest

from inventory.errors import Refused
from inventory.ledger.actions import verbs
from inventory.planning.actions import editing, importing
from inventory.planning.actions.editing import Seen
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Drilling, Need, PlanChange, Seam, Stage
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules import editing as hand
from inventory.planning.rules.compare import FlatPlan, changes
from inventory.planning.rules.numbering import (
    lines_at,
    number_lines,
    replace_line,
    split_assembly,
)

pytestmark = pytest.mark.django_db
PLAN = b"""stage,start,assembly,how_many,callout,each,hole_size,holes
Fin,2027-03-20,Left skin,2,MS20426AD3-3.5,30,#40,30
Fin,2027-03-20,Spar,1,MS20426AD3-4,12,,
Rudder,,Frame,1,AN470AD4-5,55,#30,55
"""
SKIN, SPAR = ("Fin", "Left skin"), ("Fin", "Spar")
SEAM = {
    "seam_length": "10",
    "pitch": "1",
    "sheets": ".032+.032",
    "diameter": "1/8",
    "pilot": "40",
}


@pytest.fixture
def plan(owner, now):
    importing.apply(
        found=importing.preview(name="kit.csv", data=PLAN), by=owner, now=now
    )


@pytest.fixture
def do(plan, owner, now):
    """Change the plan by one edit."""

    def change(edit, *args, **options):
        kept = {
            key: options.pop(key) for key in ("seen", "closed_too") if key in options
        }
        return editing.change(
            edit=lambda plan: edit(plan, *args, **options),
            said="by hand",
            by=owner,
            now=now,
            **kept,
        )

    return change


def stands():
    return stored_plan(current_build())


def whole():
    """All that the plan says, and of which list each line is."""
    plan = stands()
    return (
        sorted(each.sentence for each in changes(FlatPlan(), plan)),
        plan.made_by,
        list(plan.how_many),
        plan.skipped,
        sorted(plan.needs),
    )


EDITS = [
    (hand.add_stage, ("Wing", date(2027, 5, 1)), ["new stage: Wing, start 1 May 2027"]),
    (
        hand.change_stage,
        ("Fin", "Tail", date(2027, 3, 20)),
        ["name Fin: Fin becomes Tail"],
    ),
    (hand.skip_stage, ("Fin", True), ["becomes start 20 Mar 2027, skipped"]),
    (hand.place_stage, ("Fin", 1), ["order stages: Fin > Rudder becomes Rudder > Fin"]),
    (
        hand.drop_stage,
        ("Rudder",),
        ["dropped stage: Rudder", "dropped need: Rudder / Frame"],
    ),
    (
        hand.copy_stage,
        ("Fin", "Fin again"),
        ["new assembly: Fin again / Right skin, made 2 times", "new holes: Fin again"],
    ),
    (
        hand.split_stage,
        ("Fin", "Fin skins", ["Left skin"]),
        ["new stage: Fin skins", "becomes Fin skins / Left skin"],
    ),
    (hand.add_assembly, ("Fin", "Tip", "2"), ["new assembly: Fin / Tip, made 2 times"]),
    (
        hand.change_assembly,
        (SPAR, "Main spar", "3", "Rudder"),
        ["becomes Rudder / Main spar", "made once becomes made 3 times"],
    ),
    (hand.place_assembly, (SPAR, -1), ["order of Fin: Left skin > Spar becomes Spar"]),
    (
        hand.copy_assembly,
        (SKIN, ("Fin", "Right skin")),
        ["new need: Fin / Right skin / MS20426AD3-3.5, 30 each"],
    ),
    (hand.drop_assembly, (SPAR,), ["dropped assembly: Fin / Spar (was made once)"]),
    (
        hand.add_line,
        (SPAR, {"kind": "other", "name": "cable tie", "each": "20"}),
        ["new need: Fin / Spar / cable tie, 20 each"],
    ),
    (hand.add_line, (SPAR, {"callout": "zz-9", "each": "2"}), ["ZZ-9, 2 each"]),
    (
        hand.add_line,
        (SPAR, {"hole_size": "30", "holes": "9"}),
        ["new holes: Fin / Spar / #30 (drill to size, none held), 9"],
    ),
    (hand.add_line, (SPAR, SEAM), ["new seam: Fin / Spar / MS20470AD4-4"]),
    (number_lines, (SKIN, {0: "28", 1: "0"}, []), ["28 each", "dropped holes"]),
    (
        split_assembly,
        (SKIN, "Left rib", [1]),
        ["new assembly: Fin / Left rib, made 2 times"],
    ),
]


@pytest.mark.parametrize(
    ("edit", "args", "says"),
    EDITS,
    ids=[f"{edit.__name__}-{at}" for at, (edit, *_rest) in enumerate(EDITS)],
)
def test_an_edit_says_what_it_changes_and_is_taken_back(
    do, owner, now, edit, args, says
):
    before, rows = whole(), set(Assembly.objects.values_list("pk", flat=True))
    change = do(edit, *args)
    told = "\n".join(change.sentences)
    assert [words for words in says if words not in told] == []
    assert whole() != before
    editing.take_back(change=change, by=owner, now=now)
    assert whole() == before
    back = PlanChange.objects.first()
    assert back.said == "Taken back: by hand"
    with pytest.raises(Refused, match="already"):
        editing.take_back(change=change, by=owner, now=now)
    if edit not in (hand.drop_stage, hand.drop_assembly):
        assert set(Assembly.objects.values_list("pk", flat=True)) == rows


def test_an_import_is_taken_back_and_so_is_the_taking_back(plan, owner, now):
    before = whole()
    editing.take_back(change=PlanChange.objects.get(), by=owner, now=now)
    assert not Stage.objects.exists()
    editing.take_back(change=PlanChange.objects.first(), by=owner, now=now)
    assert whole() == before


def test_a_change_under_a_later_one_is_not_taken_back(do, owner, now):
    first = do(number_lines, SPAR, {0: "14"}, [])
    other = do(number_lines, SKIN, {0: "31"}, [])
    do(number_lines, SPAR, {0: "15"}, [])
    with pytest.raises(Refused, match="Fin / Spar / MS20426AD3-4 was changed again"):
        editing.take_back(change=first, by=owner, now=now)
    editing.take_back(change=other, by=owner, now=now)
    made = do(hand.add_stage, "Wing", None)
    do(hand.add_assembly, "Wing", "Rib", "1")
    with pytest.raises(Refused, match="Wing was changed again"):
        editing.take_back(change=made, by=owner, now=now)


def test_a_new_name_keeps_what_was_pulled_and_names_its_place(
    do, rivets, owner, now, ask
):
    skin = Assembly.objects.get(name="Left skin")
    place = place_to_pull_for(assembly=skin, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=4, to=place, ask=ask())
    do(hand.change_assembly, SKIN, "Port skin", "2", "Fin")
    do(hand.change_stage, "Fin", "Tail", None)
    do(hand.split_stage, "Tail", "Skins", ["Port skin"])
    again = Assembly.objects.get(pk=skin.pk)
    assert (again.stage.name, again.name, again.state) == (
        "Skins",
        "Port skin",
        "in_work",
    )
    assert (again.place_id, again.place.name) == (place.pk, "Skins / Port skin")
    for edit, args in (
        (hand.drop_assembly, (("Skins", "Port skin"),)),
        (hand.drop_stage, ("Skins",)),
    ):
        with pytest.raises(Refused, match="pieces were pulled"):
            do(edit, *args)
    assert Assembly.objects.filter(pk=skin.pk).exists()


def test_a_closed_assembly_changes_only_when_somebody_says_so(do, owner, now):
    spar = Assembly.objects.get(name="Spar")
    place_to_pull_for(assembly=spar, by=owner, now=now)
    record = close(assembly=spar, by=owner, now=now).record
    for edit, args in (
        (number_lines, (SPAR, {0: "14"}, [])),
        (hand.change_assembly, (SPAR, "Main spar", "1", "Fin")),
        (hand.change_assembly, (SPAR, "Spar", "2", "Fin")),
        (hand.add_line, (SPAR, {"hole_size": "30", "holes": "9"})),
        (hand.split_stage, ("Fin", "Spars", ["Spar"])),
    ):
        with pytest.raises(Refused, match="Spar is closed"):
            do(edit, *args)
    do(hand.change_stage, "Fin", "Tail", None)
    do(hand.add_assembly, "Tail", "Tip", "1")
    number = do(number_lines, ("Tail", "Spar"), {0: "14"}, [], closed_too=True)
    assert Need.objects.get(assembly=spar).each == 14
    assert spar.close_ups.get().record == record
    with pytest.raises(Refused, match="Spar is closed"):
        editing.take_back(change=number, by=owner, now=now)
    editing.take_back(change=number, by=owner, now=now, closed_too=True)
    assert Need.objects.get(assembly=spar).each == 12


def test_a_page_that_shows_what_is_no_more_changes_nothing(do):
    seen = Seen(SPAR, hand.mark(stands(), SPAR))
    do(number_lines, SKIN, {0: "31"}, [], seen=Seen(SKIN, hand.mark(stands(), SKIN)))
    do(number_lines, SPAR, {0: "13"}, [], seen=seen)
    with pytest.raises(Refused, match="Spar was changed since this page was opened"):
        do(number_lines, SPAR, {0: "14"}, [], seen=seen)
    assert Need.objects.get(callout="MS20426AD3-4").each == 13
    assert do(number_lines, SPAR, {0: "13"}, []) is None


@pytest.mark.parametrize(
    ("edit", "args", "words"),
    [
        (hand.add_stage, ("  ", None), "The stage is missing: name it"),
        (hand.add_stage, ("Fin", None), "has a Fin already: choose another name"),
        (hand.add_stage, ("x" * 81, None), "longer than 80"),
        (hand.change_stage, ("Fin", "Rudder", None), "has a Rudder already"),
        (hand.add_assembly, ("Fin", "Spar", "1"), "Stage Fin has a Spar already"),
        (hand.add_assembly, ("Fin", "Tip", "0"), "from 1 to 100000"),
        (hand.change_assembly, (SPAR, "Frame", "1", "Rudder"), "has a Frame already"),
        (hand.split_stage, ("Fin", "New", []), "Tick the assemblies"),
        (split_assembly, (SKIN, "New", []), "Tick the lines"),
        (hand.copy_assembly, (SKIN, SPAR), "has a Spar already"),
        (hand.place_stage, ("Gone", 1), "no stage Gone"),
        (hand.place_assembly, (("Fin", "Gone"), 1), "no Gone in Fin"),
        (hand.add_assembly, ("Gone", "Tip", "1"), "no stage Gone"),
        (hand.add_line, (SPAR, {}), "asks for nothing"),
        (hand.add_line, (SPAR, {"callout": "ZZ-9"}), "'each' is missing"),
        (hand.add_line, (SPAR, {"callout": "ZZ-9", "each": "0"}), "from 1 to 100000"),
        (hand.add_line, (SPAR, {"callout": "ZZ-9", "each": "300000"}), "'300000'"),
        (
            hand.add_line,
            (SPAR, {"kind": "drill", "size": "#40", "each": "1"}),
            "used up",
        ),
        (
            hand.add_line,
            (SPAR, {"kind": "other", "name": "tie", "callout": "ZZ-9", "each": "1"}),
            "not both",
        ),
        (hand.add_line, (SPAR, {"kind": "other", "each": "1"}), "needs a name"),
        (hand.add_line, (SPAR, {"hole_size": "", "holes": "3"}), "hole size"),
        (hand.add_line, (SPAR, SEAM | {"pitch": "x"}), "seam: "),
        (number_lines, (SPAR, {0: "-1"}, []), "from 0 to 100000"),
        (number_lines, (SPAR, {0: "many"}, []), "'many'"),
    ],
)
def test_what_cannot_be_is_said_in_words_and_changes_nothing(do, edit, args, words):
    before = whole()
    with pytest.raises(Refused, match=words):
        do(edit, *args)
    assert whole() == before


def test_a_seam_goes_whole_and_its_rivets_are_not_fewer(do):
    do(hand.add_line, SPAR, {**SEAM, "days_held": "5"})
    do(hand.add_line, SPAR, {"callout": "MS20470AD4-4", "each": "6"})
    lines = lines_at(stands(), SPAR)
    at = {line.kind + line.words[:12]: i for i, line in enumerate(lines)}
    rivets = at["needMS20470AD4-4"]
    seam = next(i for i, line in enumerate(lines) if line.kind == "seam")
    counted = lines[seam].number
    assert (lines[rivets].number, lines[rivets].least) == (counted + 6, counted)
    with pytest.raises(Refused, match="cannot be fewer"):
        do(number_lines, SPAR, {rivets: str(counted - 1)}, [])
    with pytest.raises(Refused, match="stand elsewhere"):
        do(split_assembly, SPAR, "Cap", [seam])
    do(number_lines, SPAR, {rivets: str(counted + 6)}, [seam, 99])
    assert Need.objects.get(callout="MS20470AD4-4").each == 6
    assert not Seam.objects.exists()
    assert not Drilling.objects.filter(assembly__name="Spar").exists()


def test_one_line_stands_in_place_of_another(do):
    do(hand.add_line, SPAR, {**SEAM, "days_held": "5"})
    do(hand.add_line, SPAR, {"hole_size": "#19", "holes": "8"})

    def at(kind, word=""):
        lines = lines_at(stands(), SPAR)
        return next(
            i for i, row in enumerate(lines) if row.kind == kind and word in row.words
        )

    wider = {"hole_size": "#21", "holes": "8", "operation": "open"}
    do(replace_line, SPAR, at("holes", "#19"), wider)
    drilled = Drilling.objects.filter(assembly__name="Spar", origin="")
    assert [
        (row.hole_size, row.operation) for row in drilled if row.holes_each == 8
    ] == [("#21", "open")]
    rivets = Seam.objects.get().rivets
    do(replace_line, SPAR, at("seam"), {**SEAM, "pitch": "2", "days_held": "5"})
    assert Seam.objects.get().rivets < rivets
    need = Need.objects.get(callout="MS20470AD4-4")
    assert need.each == Seam.objects.get().rivets
    with pytest.raises(Refused, match="is gone"):
        do(replace_line, SPAR, 99, wider)
    with pytest.raises(Refused, match="hole size"):
        do(replace_line, SPAR, at("holes", "#21"), {"hole_size": "", "holes": "3"})
    assert drilled.filter(hole_size="#21").exists()


@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("Left skin", "Right skin"),
        ("Skin, LH", "Skin, RH"),
        ("right and left", "left and right"),
        ("Cleft", "Cleft copy"),
    ],
)
def test_a_copy_is_named_for_the_other_side(name, other):
    assert hand.mirrored(name) == other


def test_a_copy_asks_what_its_own_original_asks_and_no_more(do):
    do(hand.add_line, SPAR, {"hole_size": "30", "holes": "9"})
    do(hand.add_line, SPAR, SEAM)
    do(hand.copy_assembly, SKIN, ("Fin", "Right skin"))
    copied = [
        {key[2:] for key in rows if key[:2] == ("Fin", "Right skin")}
        for rows in (stands().needs, stands().holes, stands().seams)
    ]
    made = [
        {(*key[2:-1], "") for key in rows if key[:2] == SKIN}
        for rows in (stands().needs, stands().holes, stands().seams)
    ]
    assert copied == made
    assert [len(each) for each in copied] == [1, 1, 0]


def test_what_is_renamed_or_copied_stands_where_it_should(do):
    do(hand.change_assembly, SKIN, "Port skin", "2", "Fin")
    assert list(Assembly.objects.values_list("name", flat=True)) == [
        "Port skin",
        "Spar",
        "Frame",
    ]
    do(hand.copy_stage, "Fin", "Fin again")
    names = list(Stage.objects.values_list("name", flat=True))
    assert names == ["Fin", "Fin again", "Rudder"]
    do(hand.split_stage, "Fin", "Spars", ["Spar"])
    assert list(Stage.objects.values_list("name", flat=True))[:2] == ["Fin", "Spars"]


def test_a_named_thing_that_was_taken_away_comes_back_as_it_was(do, owner, now):
    asked = {"kind": "sealant", "name": "class B-2", "each": "50"}
    do(hand.add_line, SPAR, asked)
    item = Need.objects.get(callout="").item
    gone = do(number_lines, SPAR, {1: "0"}, [])
    assert not Need.objects.filter(callout="").exists()
    editing.take_back(change=gone, by=owner, now=now)
    back = Need.objects.get(callout="")
    assert (back.item, back.each, back.item.unit) == (item, 50, "ml")
    with pytest.raises(Refused, match="kept in ml, not in g"):
        do(hand.add_line, SKIN, {**asked, "unit": "g"})


def test_a_skipped_stage_stays_skipped_when_its_list_is_imported(do, owner, now):
    do(hand.skip_stage, "Fin", True)
    more = importing.preview(name="kit.csv", data=PLAN.replace(b",12,,", b",13,,"))
    assert len(more.changes) == 1
    importing.apply(found=more, by=owner, now=now)
    assert Stage.objects.get(name="Fin").skipped
    with pytest.raises(Refused, match="changed since the file was looked at"):
        importing.apply(
            found=replace(more, plan=FlatPlan(), lists=["kit"]), by=owner, now=now
        )

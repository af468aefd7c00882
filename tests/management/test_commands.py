"""What the README promises of the commands that print: readiness, a code, the owner."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.management.commands import create_owner as command
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly, Stage
from inventory.trade.cautions import AIRWORTHINESS


def run(*words, **options):
    out = StringIO()
    call_command(*words, stdout=out, **options)
    return out.getvalue()


@pytest.fixture
def plan(owner, now, rivets, monkeypatch):
    """A stage that is short of its one rivet."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    text = "stage,start,assembly,callout,each\nFin,2027-03-31,Skin,AN426AD3-3.5,60\n"
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)


@pytest.mark.django_db
def test_readiness_says_the_one_thing_in_the_way_and_its_day(plan):
    first, *_rest, note = run("readiness").splitlines()
    assert first.startswith(
        "Fin, from 31 Mar 2027: ready but for 3/32 flush, 7/32 long (MS20426AD3-3.5): "
        "order "
    )
    assert first.endswith("by 26 Mar 2027 (lead time a guess)")
    assert note == AIRWORTHINESS


@pytest.mark.django_db
def test_readiness_as_data_opens_each_figure(plan):
    data = json.loads(run("readiness", "--json"))
    (stage,) = data["stages"]
    assert (stage["readiness"], stage["short_of"]) == ("ready_but_for", 1)
    (line,) = stage["items"]
    assert (line["need"], line["on_hand"], line["due"]) == (60, 40, 0)
    assert line["certainly_short"]
    assert line["kind"] == "item"
    assert line["run_out"]
    assert line == stage["in_the_way"]


@pytest.mark.django_db
def test_readiness_supposes_and_changes_nothing(plan):
    said = run("readiness", "--away", "42").splitlines()
    assert said[0] == "What if: 42 days away. Nothing is changed."
    assert said[1].startswith("Fin, from 12 May 2027")
    assert f"{Stage.objects.get().planned_start}" == "2027-03-31"
    with pytest.raises(CommandError, match="days away"):
        run("readiness", "--away", "-1")


@pytest.mark.django_db
def test_a_plan_goes_out_comes_in_and_takes_a_second_list(plan, tmp_path):
    kept = tmp_path / "any.csv"
    kept.write_text(run("export_plan"))
    assert "nothing changed" in run("import_plan", str(kept))
    sub = tmp_path / "sub.csv"
    sub.write_text("stage,assembly,kind,name,each\nFin,Skin,other,cable tie,6\n")
    said = run("import_plan", str(sub)).splitlines()
    assert said[:2] == ["List sub: added", "new need: Fin / Skin / cable tie, 6 each"]
    assert "List wing: added" in run("import_plan", str(sub), "--list", "wing")
    assert run("import_plan", str(sub), "--list", "plan").startswith(
        "List plan: replaced\n"
    )
    run("import_plan", str(sub), "--apply")
    assert "nothing changed" in run("import_plan", str(sub))


@pytest.mark.django_db
def test_what_is_closed_changes_by_command_only_when_told(plan, owner, now, tmp_path):
    skin = Assembly.objects.get()
    place_to_pull_for(assembly=skin, by=owner, now=now)
    close(assembly=skin, by=owner, now=now)
    file = tmp_path / "plan.csv"
    file.write_text(run("export_plan").replace(",60,", ",61,"))
    assert "closed, and would change: Skin" in run("import_plan", str(file))
    with pytest.raises(CommandError, match="Skin is closed"):
        run("import_plan", str(file), "--apply")
    run("import_plan", str(file), "--apply", "--closed-too")
    assert "nothing changed" in run("import_plan", str(file))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("XB001202", "own code"),
        ("B12", "typed bin"),
        ("MS20426AD3-3.5", "part number"),
        ("nobody's code", "unknown"),
        ("XB001203", None),
    ],
)
def test_a_code_is_told(text, said):
    if said is None:
        with pytest.raises(CommandError, match="1 not read"):
            run("read_code", text)
        return
    assert run("read_code", text).startswith(f"{text!r}: {said}")


def test_every_code_gets_a_line_the_refused_ones_too():
    out = StringIO()
    with pytest.raises(CommandError, match="1 not read") as refused:
        call_command("read_code", "12", "", "--json", stdout=out)
    assert refused.value.returncode == 1
    number, wrong = map(json.loads, out.getvalue().splitlines())
    assert (number["kind"], number["number"]) == ("number", 12)
    assert wrong["error"]["code"] == "scan.empty"
    assert wrong["error"]["sentence"]


@pytest.mark.django_db
def test_the_owner_is_made_once_with_a_phrase_of_15_characters(monkeypatch):
    monkeypatch.setenv("GRIPCOUNT_OWNER_PASSWORD", "short")
    with pytest.raises(CommandError, match="longer phrase"):
        run("create_owner", "--name", "Marlow")
    assert not User.objects.exists()
    monkeypatch.setenv("GRIPCOUNT_OWNER_PASSWORD", "a phrase long enough")
    said = run("create_owner", "--name", "Marlow", "--email", "m@example.org")
    assert said == "Marlow owns this shop.\n"
    owner = User.objects.get()
    assert owner.check_password("a phrase long enough")
    assert (owner.email, owner.is_superuser) == ("m@example.org", True)
    with pytest.raises(CommandError, match="has an owner already"):
        run("create_owner", "--name", "Another")


@pytest.mark.django_db
def test_the_password_is_asked_for_twice(monkeypatch):
    monkeypatch.delenv("GRIPCOUNT_OWNER_PASSWORD", raising=False)
    answers = iter(["a phrase long enough", "a phrase not the same"])
    monkeypatch.setattr(command, "getpass", lambda _asked: next(answers))
    with pytest.raises(CommandError, match="The two differ"):
        run("create_owner", "--name", "Marlow")
    assert not User.objects.exists()

"""The asking commands: JSON lines, words with their sources, exit status, no database."""

import json
import os
import subprocess
import sys
from io import StringIO

import pytest
from django.conf import settings as shop_settings
from django.core.management import CommandError, call_command

from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.questions.index import QUESTIONS, named
from inventory.trade.questions.shape import as_data
from tests.trade.asked import ASKED, NAMES, ask

EVERY = [(name, given) for name in NAMES for given in ASKED[name]]


def line(name, given):
    """What a person types for these fields."""
    question = named(name)
    first = question.fields[0].name if question.positional else ""
    flags = {each.name for each in question.fields if each.flag}
    words = [given[first]] if first else []
    for field, text in given.items():
        option = f"--{field.replace('_', '-')}"
        if field in flags:
            words += [option] * (text == "yes")
        elif field != first:
            words.append(f"{option}={text}")
    return words


def run(name, *words):
    """The command's output, its complaints, and its exit status."""
    out, err = StringIO(), StringIO()
    try:
        call_command(name, *words, stdout=out, stderr=err)
    except CommandError as error:
        return out.getvalue(), f"{err.getvalue()}{error}", error.returncode
    return out.getvalue(), err.getvalue(), 0


def in_a_shell(*words, program=("manage.py",)):
    """The command as a process of its own, with a database that is not there."""
    nowhere = {"GRIPCOUNT_DATABASE": "postgres://nobody@127.0.0.1:1/nothing"}
    return subprocess.run(
        [sys.executable, *program, *words],
        cwd=shop_settings.ROOT,
        env={**os.environ, **nowhere},
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


@pytest.mark.parametrize(("name", "given"), EVERY)
def test_json_is_one_line_and_the_questions_own_answer(name, given):
    out, err, status = run(name, *line(name, given), "--json")
    assert (status, err) == (0, "")
    found = [json.loads(each) for each in out.splitlines()]
    flags = {each.name for each in named(name).fields if each.flag}
    asked = {key: text for key, text in given.items() if key not in flags}
    asked |= {key: "yes" for key in flags if given.get(key) == "yes"}
    assert found == [json.loads(json.dumps(as_data(ask(name, asked))))]


@pytest.mark.parametrize(("name", "given"), EVERY)
def test_words_carry_their_sources_in_brackets(name, given):
    out, err, status = run(name, *line(name, given))
    assert (status, err) == (0, "")
    headline, *lines, last = out.splitlines()
    answer = ask(name, given)
    assert (headline, last) == (answer.headline, AIRWORTHINESS)
    marked = (*answer.figures, *answer.warnings, *answer.cautions)
    assert [each.rpartition(" [")[2] for each in lines] == [
        f"{each.certainty}; {each.source}]" for each in marked
    ]
    for caution in answer.cautions:
        assert f"Mind: {caution.sentence}" in out


def test_each_callout_has_a_line_the_refused_too():
    out, err, status = run("callout", "AN470AD4-5", "nope", "AN3-4A", "AD4-4", "--json")
    first, second, third, fourth = map(json.loads, out.splitlines())
    assert (first["callout"], third["callout"]) == ("AN470AD4-5", "AN3-4A")
    assert second["expected"] in second["error"]
    assert second["airworthiness"] == AIRWORTHINESS
    assert "MS20470AD4-4" in fourth["readings"]
    assert (status, err) == (1, "2 not answered.")


def test_a_refusal_in_words_stands_apart_from_the_answers():
    out, err, status = run("callout", "AN470AD4-5", "nope")
    assert out.startswith("AN470AD4-5: 1/8 universal")
    assert "nope" not in out
    assert err.startswith("Expected a callout such as")
    assert status == 1


# Each leaves out what is needed, or names what no question has.
@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("callout", ["MS20470AD4"]),
        ("rivet", ["--grip=.064", "--diameter=1/8", "--head=square"]),
        ("rivet", ["--grip=.064", "--diameter=1/0"]),
        ("drill", ["#99"]),
        ("countersink", ["--diameter=3/32", "--sheets=.032", "--source=hearsay"]),
        ("seam", ["--length=10", "--diameter=1/8", "--sheets=.032", "--splice=4-99"]),
        ("weight", ["AN3-4A"]),
        ("driving", ["--diameter=1/8", "--alloy=XX"]),
        ("sealant", ["--kind=glue"]),
    ],
)
def test_a_refusal_is_json_too(name, words):
    out, err, status = run(name, *words, "--json")
    found = json.loads(out)
    assert found["expected"] in found["error"]
    assert found["code"]
    assert (status, err) == (1, "1 not answered.")


def test_a_flag_is_asked_and_left_out():
    seam = ("--length=10", "--pitch=1", "--diameter=1/8", "--json")
    opened = json.loads(run("seam", *seam, "--punched")[0])["work"]
    full = json.loads(run("seam", *seam)[0])["work"]
    assert [each["operation"] for each in opened] == ["open"]
    assert [each["operation"] for each in full] == ["full"]


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)
def test_help_says_every_field(question, capsys):
    with pytest.raises(SystemExit) as left:
        call_command(question.name, "--help")
    said = " ".join(capsys.readouterr().out.split())
    assert left.value.code == 0
    assert question.asks in said
    for each in question.fields:
        assert each.label in said
        assert each.help in said
        assert all(choice in said for choice in each.choices)


# One process for all of them: each starts as `manage.py` starts one.
ONE_BY_ONE = """
import json, runpy, sys
for words in map(json.loads, sys.argv[1:]):
    sys.argv = ["manage.py", *words]
    try:
        runpy.run_path("manage.py", run_name="__main__")
    except SystemExit as left:
        assert not left.code, words
"""


@pytest.mark.slow
def test_as_a_process_without_a_database():
    lines = [[name, *line(name, ASKED[name][0]), "--json"] for name in NAMES]
    done = in_a_shell(*map(json.dumps, lines), program=("-c", ONE_BY_ONE))
    assert (done.returncode, done.stderr) == (0, "")
    said = [json.loads(each)["airworthiness"] for each in done.stdout.splitlines()]
    assert said == [AIRWORTHINESS] * len(NAMES)


@pytest.mark.slow
def test_as_a_process_a_refusal_is_status_1():
    done = in_a_shell("callout", "AN470AD4-5", "nope", "\udcff", "--json")
    assert done.returncode == 1
    assert len([json.loads(each) for each in done.stdout.splitlines()]) == 3
    assert done.stderr == "CommandError: 2 not answered.\n"
    words = in_a_shell("drill", "\udcff")
    assert words.returncode == 1
    assert words.stderr.startswith("Expected a drill")
    assert "Traceback" not in words.stderr

"""Before the doors open: the owner is asked for once, patiently."""

from django.core.management import CommandError

from inventory.config import supervisor_prepare as prepare


def asked(monkeypatch, failures):
    """Answers the prompt; the command refuses so many times. Returns its calls."""
    calls = []

    def command(name, /, **options):
        calls.append((name, options))
        if len(calls) <= failures:
            raise CommandError("The two passwords differ.")

    monkeypatch.setattr("builtins.input", lambda _prompt: " Marta ")
    monkeypatch.setattr(prepare, "call_command", command)
    return calls


def test_the_owner_is_made_from_the_name_typed(monkeypatch):
    calls = asked(monkeypatch, failures=0)
    assert prepare.ask_for_owner() == 0
    assert calls == [("create_owner", {"name": "Marta"})]


def test_a_slip_is_said_and_asked_again(monkeypatch, capsys):
    calls = asked(monkeypatch, failures=1)
    assert prepare.ask_for_owner() == 0
    assert len(calls) == 2
    assert "The two passwords differ." in capsys.readouterr().out


def test_it_does_not_ask_for_ever(monkeypatch):
    calls = asked(monkeypatch, failures=99)
    assert prepare.ask_for_owner() == 1
    assert len(calls) == prepare.TRIES


def test_the_line_names_the_folder_that_is_served(monkeypatch):
    monkeypatch.setenv("GRIPCOUNT_DATA", "/srv/my shop")
    line = "GRIPCOUNT_DATA='/srv/my shop' python3 manage.py create_owner"
    assert prepare.owner_command().startswith(line)

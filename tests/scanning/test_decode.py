"""`manage.py decode`: one line a picture."""

import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.trade import codes
from tests.photos.test_opening import as_file, label_picture

OTHER = codes.make("B", 7)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two labels, a bare bench, a text that calls itself a picture, a note."""
    (tmp_path / "b.JPG").write_bytes(as_file(label_picture(OTHER)))
    (tmp_path / "a.png").write_bytes(as_file(label_picture(), "PNG"))
    (tmp_path / "c.jpg").write_bytes(as_file(label_picture().resize((40, 20))))
    (tmp_path / "d.jpeg").write_bytes(b"no picture at all")
    (tmp_path / "note.txt").write_text("not looked at")
    return tmp_path


def lines(*paths: object) -> list[dict[str, object]]:
    out = io.StringIO()
    call_command("decode", *map(str, paths), json=True, stdout=out)
    return [json.loads(line) for line in out.getvalue().splitlines()]


@pytest.mark.slow
def test_a_folder_in_order_one_line_a_picture(folder: Path) -> None:
    """What each symbol said, and beside it the code it means."""
    first, second, bare, torn = lines(folder)
    assert [Path(str(each["file"])).name for each in (first, second, bare, torn)] == [
        "a.png",
        "b.JPG",
        "c.jpg",
        "d.jpeg",
    ]
    assert set(first["payloads"]) == {"XB004209", "HTTP://SHOP.LOCAL/S/XB004209"}
    assert {row["code"] for row in first["codes"]} == {"XB004209"}
    assert {row["code"] for row in second["codes"]} == {OTHER}
    assert (bare["payloads"], "error" in bare) == ([], False)
    assert torn["error"]["code"] == "photo.not_a_picture"
    assert all(each["ms"] >= 0 for each in (first, second, bare, torn))


@pytest.mark.slow
def test_patterns_and_files_are_welcome(folder: Path) -> None:
    """A pattern the shell left alone is met here."""
    assert [Path(str(each["file"])).name for each in lines(folder / "*.j*")] == [
        "c.jpg",
        "d.jpeg",
    ]


@pytest.mark.slow
def test_words_without_json(folder: Path) -> None:
    out = io.StringIO()
    call_command("decode", str(folder / "a.png"), str(folder / "d.jpeg"), stdout=out)
    first, second = out.getvalue().splitlines()
    assert "XB004209 (own)" in first
    assert "send a JPEG, PNG or WEBP" in second


@pytest.mark.slow
def test_it_fails_only_when_nothing_could_be_opened(folder: Path) -> None:
    """With a line for each all the same."""
    out = io.StringIO()
    paths = [str(folder / "d.jpeg"), str(folder / "gone.jpg")]
    with pytest.raises(CommandError, match="No picture"):
        call_command("decode", *paths, json=True, stdout=out)
    said = [json.loads(line)["error"]["code"] for line in out.getvalue().splitlines()]
    assert said == ["photo.not_a_picture", "photo.missing"]

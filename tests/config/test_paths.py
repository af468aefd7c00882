"""A shop's folder: apart from the demo's, and its secret the owner's alone."""

import stat
from pathlib import Path

from inventory.config import paths


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_the_secret_is_for_the_owner_only_and_made_once(tmp_path):
    folder = tmp_path / "shop"
    paths.prepare(folder)
    first = paths.kept_secret(folder)
    paths.prepare(folder)
    assert first is not None
    assert len(first) >= 50
    assert paths.kept_secret(folder) == first
    assert mode(folder / paths.SECRET_FILE) == 0o600
    assert mode(folder) == 0o700


def test_no_secret_before_the_folder_is_made(tmp_path):
    assert paths.kept_secret(tmp_path / "nowhere") is None


def test_shop_and_demo_live_apart(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    shop, demo = paths.shop_folder(demo=False), paths.shop_folder(demo=True)
    assert shop.is_relative_to(tmp_path)
    assert not shop.is_relative_to(demo)
    assert not demo.is_relative_to(shop)


def test_the_environment_names_another_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("GRIPCOUNT_DATA", str(tmp_path))
    assert paths.data_folder() == tmp_path
    monkeypatch.delenv("GRIPCOUNT_DATA")
    monkeypatch.setenv("XDG_DATA_HOME", "/elsewhere")
    assert paths.data_folder() == Path("/elsewhere/gripcount/shop")

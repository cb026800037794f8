"""The remembered settings: readable, checked, never overwritten when broken."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.settings import (
    Settings,
    SettingsError,
    load_settings,
    save_settings,
    settings_path,
    to_toml,
)


def test_no_file_means_defaults(tmp_path: Path) -> None:
    assert load_settings(tmp_path / "none.toml") == Settings()


def test_what_is_saved_is_loaded(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "settings.toml"
    kept = Settings(
        port='socket://[::1]:35000"\\',
        sheet="C:\\a\nb",
        temperature_unit="F",
        mute=True,
    )
    save_settings(kept, path)
    assert load_settings(path) == kept
    assert [p.name for p in path.parent.iterdir()] == ["settings.toml"]


def test_the_file_explains_itself() -> None:
    text = to_toml(Settings())
    lines = text.splitlines()
    for number, line in enumerate(lines):
        if "=" in line and not line.startswith("#"):
            assert lines[number - 1].startswith("# ")
    assert "problem" not in text


# TOML 1.0 basic strings: any Unicode scalar value, so no lone surrogates.
@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_survives_as_toml(text: str) -> None:
    table = tomllib.loads(to_toml(Settings(port=text)))
    assert table["port"] == text


BROKEN = {
    "not TOML": ("mute = perhaps", "cannot be read"),
    "not UTF-8": (b'port = "\xff"', "cannot be read"),
    "wrong type": ('mute = "yes"', "mute = 'yes', which should be true or false"),
    "wrong value": ('temperature_unit = "K"', "one of C, F"),
    "unknown key": ('temprature_unit = "C"', "unknown key 'temprature_unit'"),
    "a table": ("[port]\na = 1", "a text in quotes"),
}


@pytest.mark.parametrize(("content", "said"), BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_file_is_told_in_one_sentence_and_kept(
    tmp_path: Path, content: str | bytes, said: str
) -> None:
    path = tmp_path / "settings.toml"
    raw = content if isinstance(content, bytes) else content.encode()
    path.write_bytes(raw)
    loaded = load_settings(path)
    assert said in loaded.problem
    assert str(path) in loaded.problem
    assert "\n" not in loaded.problem
    assert loaded.temperature_unit == "C"
    with pytest.raises(SettingsError, match="Not saved"):
        save_settings(Settings(mute=True), path)
    assert path.read_bytes() == raw


def test_good_keys_beside_a_wrong_one_are_used(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('port = "COM7"\nmute = 3\n', encoding="utf-8")
    loaded = load_settings(path)
    assert loaded.port == "COM7"
    assert loaded.problem


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("", encoding="utf-8")
    with pytest.raises(SettingsError, match="ot saved") as caught:
        save_settings(Settings(), blocker / "settings.toml")
    assert "\n" not in str(caught.value)


def test_text_that_is_no_unicode_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="not saved"):
        save_settings(Settings(port="\udcff"), tmp_path / "settings.toml")
    assert list(tmp_path.iterdir()) == []


def test_the_place_is_the_systems_own(monkeypatch: pytest.MonkeyPatch) -> None:
    path = settings_path()
    assert path.name == "settings.toml"
    assert path.parent.name == "sumpgate"

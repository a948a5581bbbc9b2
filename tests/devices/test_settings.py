"""The user's settings: every fault names file, line and cure."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.devices.pedal.binding import KeyBinding, pedal_file, read_binding, write_binding
from assistant.errors import Refusal
from assistant.files import places, sections, settings
from assistant.hearing import vocabulary

ROOT = Path(__file__).parents[2]


def test_the_commented_file_holds_the_defaults() -> None:
    """Copying it changes nothing, and every setting stands in it."""
    file = ROOT / "config" / "tallyhand.toml"
    assert settings.read_settings(file) == settings.Settings(file)
    text = file.read_text("utf-8")
    for name, section in sections.SECTIONS.items():
        assert f"[{name}]" in text
        for field in section.__dataclass_fields__:
            assert f"\n{field} = " in text


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('[speech]\n\nvoize = "en"', ["line 3", "voize", "did you mean 'voice'"]),
        ('[speach]\nvoice = "en"', ["line 1", "speach", "did you mean 'speech'"]),
        ("speech = 3", ["line 1", "speech"]),
        ("[ear]\naccept = 3", ["line 2", "accept = 3", "0.6 to 1.0"]),
        ("[ear]\naccept = 0.59", ["line 2", "accept = 0.59", "0.6 to 1.0"]),
        (
            "[ear]\naccept_lock_and_guard = 0.89",
            ["line 2", "accept_lock_and_guard = 0.89", "0.9 to 1.0"],
        ),
        ("[ear]\naccept = true", ["line 2", "accept", "a number"]),
        ("[keyboard]\nuse = 1", ["line 2", "use", "true or false"]),
        ('[pedal]\nkind = "foot"', ["line 2", "kind", "evdev"]),
        ("[sound]\nspeaker = 7", ["line 2", "speaker", "text in quotes"]),
        ("[sound\n", ["line 1", "mend"]),
        ('[speech]\nwords_per_minute = "fast"', ["line 2", "a number"]),
    ],
)
def test_a_fault_names_its_line_and_the_cure(text: str, parts: list[str], tmp_path: Path) -> None:
    """One line: where, what, what to do."""
    file = tmp_path / "mine.toml"
    file.write_text(text)
    with pytest.raises(Refusal) as caught:
        settings.load_settings(file)
    message = str(caught.value)
    assert "\n" not in message
    for part in [str(file), *parts]:
        assert part in message


def test_a_word_of_an_earlier_version_is_read_as_todays(tmp_path: Path) -> None:
    """The built-in ear was once called by the name of what divides."""
    file = tmp_path / "mine.toml"
    file.write_text('[ear]\nkind = "head"\n')
    assert settings.load_settings(file).ear.kind == "trained"


def test_only_the_users_own_file_may_be_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that was named and is not there is a fault."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("TALLYHAND_CONFIG", raising=False)
    assert settings.load_settings() == settings.Settings(settings.settings_file())
    with pytest.raises(Refusal, match=r"no\.toml"):
        settings.load_settings(tmp_path / "no.toml")
    monkeypatch.setenv("TALLYHAND_CONFIG", str(tmp_path / "env.toml"))
    with pytest.raises(Refusal, match=r"env\.toml"):
        settings.load_settings()


def test_the_home_folder_is_understood_everywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`~` in TALLYHAND_CONFIG, for settings, phrases and heads alike, and in --config."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("TALLYHAND_CONFIG", "~/shop/mine.toml")
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "mine.toml").write_text("[ear]\naccept = 0.7\n")
    assert settings.load_settings() == settings.load_settings(Path("~/shop/mine.toml"))
    assert settings.load_settings().ear.accept == 0.7
    assert vocabulary.phrases_file() == shop / "phrases.toml"
    assert Path(places.own_folder()) == shop


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    """Refused in one line."""
    file = tmp_path / "mine.toml"
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(Refusal, match="UTF-8"):
        settings.load_settings(file)


def test_a_taught_pedal_is_kept_beside_the_settings(tmp_path: Path) -> None:
    """Written and read back the same, odd names included; the settings are not touched."""
    mine = tmp_path / "tallyhand.toml"
    binding = KeyBinding("evdev", "F13", 183, 'Foot "Switch" Ünï\\', "1209:0001", "")
    write_binding(pedal_file(mine), binding)
    assert read_binding(pedal_file(mine)) == binding
    assert not mine.exists()


@pytest.mark.parametrize("text", ["", "[pedal]\nsource = 3", "[pedal", '[pedal]\nsource = "usb"'])
def test_a_damaged_pedal_file_says_to_teach_again(text: str, tmp_path: Path) -> None:
    """Never a traceback, never a wrong pedal."""
    file = tmp_path / "pedal.toml"
    file.write_text(text)
    with pytest.raises(Refusal, match="--learn-pedal"):
        read_binding(file)

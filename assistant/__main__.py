"""The one command, `tallyhand`. Only the chosen subcommand is imported: `plan` stays quick."""

from __future__ import annotations

import os
import sys

from assistant import errors
from assistant.commands import command_line

COMMANDS = {
    "setup": "the first set-up, by question and answer: head, voice, pedal, microphone",
    "plan": "work out how to index a division or an angle on a head",
    "table": "the best set-up for each of many divisions",
    "leads": "the leads that the change gears give, for helical work",
    "job": "a job file: check and explain it; new and edit ask for it",
    "sheet": "the job on a printed page, to finish it by hand",
    "run": "talk through a job at the bench",
    "resume": "go on with the last unfinished job",
    "rehearse": "run a job from a script, with no device",
    "log": "the finished and unfinished jobs",
    "report": "what happened in a job, as a page or a table",
    "inspect": "the spacing of a finished part, from readings tooth by tooth",
    "hear": "run the recogniser over recordings",
    "phrases": "check your own phrases: known words, and far enough apart in sound",
    "voice": "teach the ear your voice, or have it forgotten",
    "doctor": "look at microphone, speaker, recogniser and pedal, and say what is missing",
}

_SHORT = ("plan", "table")  # over in a blink: they read their words without a parser


def usage() -> str:
    """What is printed where no command, or help, is asked for."""
    lines = ["usage: tallyhand COMMAND ...", ""]
    lines += [f"  {name:<10}{what}" for name, what in COMMANDS.items()]
    return "\n".join([*lines, "", "example: tallyhand plan --head three-plate-40 --divisions 21"])


def main(argv: list[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 refused or a finding, 2 wrong use."""
    # The ear multiplies small tables: a second thread for them only waits, and is waited for.
    # The voice detector asks for four by itself, for a network of a seventh of a millisecond: on a
    # busy machine they cost eight times that, and more in waiting.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.setdefault("OMP_THREAD_LIMIT", "1")
    words = sys.argv[1:] if argv is None else argv
    if not words or words[0] in ("-h", "--help"):
        print(usage())
        return command_line.DONE if words else command_line.WRONG_USE
    if words[0] == "--version":
        print(command_line.version())
        return command_line.DONE
    if words[0] not in COMMANDS:
        command_line.complain(
            f"tallyhand: no command {words[0]!r}; commands are {', '.join(COMMANDS)}"
        )
        return command_line.WRONG_USE
    if argv is None and words[0] in _SHORT:
        return run_short(words[0], words[1:])
    return run_command(words[0], words[1:])


def run_short(name: str, words: list[str]) -> int:
    """A command over in a blink: the garbage collector would only lengthen it."""
    import gc

    gc.disable()
    code = run_command(name, words)
    gc.freeze()
    return code


def run_command(name: str, words: list[str]) -> int:
    """The exit code of one command; whatever is refused is one line on standard error."""
    try:
        code = _done(name, words)
    except errors.WrongUse as error:
        command_line.complain(str(error))
        return command_line.WRONG_USE
    except errors.Refusal as error:
        command_line.complain(str(error))
        return command_line.REFUSED
    except ModuleNotFoundError as error:
        from assistant.files.packages_here import not_here, ours, package_of, to_install_python

        if ours(error):
            raise
        command_line.complain(
            f"tallyhand {name}: {not_here(error)}; {to_install_python(package_of(error))}"
        )
        return command_line.REFUSED
    except BrokenPipeError:
        # The reader of a pipe went away (`| head`): nothing is wrong on this side.
        sys.stderr.close()
        return command_line.DONE
    except KeyboardInterrupt:
        return 130
    return code


def _done(name: str, words: list[str]) -> int:
    """The built-in import, since importlib itself costs `plan` some of its start time."""
    given: object
    if name in _SHORT:
        from assistant.commands import short_words

        given = short_words.read_or_help(name, words)
        if given is None:
            return command_line.DONE
    else:
        from assistant.commands import parsers

        name, given = parsers.read_command(name, words)
    module = __import__(f"assistant.commands.{name}", fromlist=["main"])
    code: int = module.main(given)
    return code


if __name__ == "__main__":
    sys.exit(main())

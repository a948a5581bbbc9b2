"""The parsers of the commands. What a command works with is imported only after its words are
parsed: a slip or `--help` is answered at once.
"""

from __future__ import annotations

from argparse import Namespace

from assistant.commands import data_folder, head_options, pace_options, page_options
from assistant.commands.argument_parser import Parser
from assistant.paper.papers import PAPERS
from assistant.setup.headings import HEADINGS

_VERIFY = (
    "Check the chain of hashes over each journal, and that each record follows from the one "
    "before by the rules of the session. The last line of the chain stands for the "
    "whole journal: note it on the job card, and --ends shows later that nothing was changed, "
    "added or cut off since."
)


def read_command(command: str, words: list[str]) -> tuple[str, Namespace]:
    """The module in `assistant.commands` that does it, and what it is given. Raises WrongUse;
    leaves by SystemExit after `--help`."""
    if command == "log" and words[:1] == ["verify"]:
        command, words = "log_verify", words[1:]
    if command == "job" and words[:1] in (["new"], ["edit"]):
        command, words = f"job_{words[0]}", words[1:]
    if command == "setup" and words[:1] == ["errors"]:
        command, words = "setup_errors", words[1:]
    if command == "inspect":
        command = "inspect_part"  # a module named inspect would hide the library's own
    make = _PARSERS[command]
    return command, make().parse_args(words)


def setup() -> Parser:
    """Which steps, whose settings, and answers from a file."""
    parser = Parser(
        "setup",
        "Set up head, units, speaker, voice, pedal and microphone by question and answer. "
        "Enter keeps what stands in brackets; q leaves, and nothing is lost.",
        "tallyhand setup\n         tallyhand setup head microphone",
    )
    known = ", ".join(HEADINGS)
    parser.add_argument("steps", nargs="*", metavar="STEP", help=f"only these: {known}")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own)")
    parser.add_argument("--answers", metavar="FILE", help="answers, a line each, for a script")
    parser.add_argument("--silent", action="store_true", help="print only, do not speak or listen")
    return parser


def setup_errors() -> Parser:
    """Readings from a file or asked for, their faces and radius, and whether they are kept."""
    parser = Parser(
        "setup errors",
        "Find the head's own errors: a plug with faces is turned round on itself under an "
        "indicator, all places for each setting; or known angles are measured. Least squares "
        "with closure; uncertainties after JCGM 100 (95 %).",
        "tallyhand setup errors --head mine.toml --faces 9 --radius 40\n"
        "         tallyhand setup errors --head mine.toml --readings readings.csv --save",
    )
    parser.add_argument("--head", metavar="HEAD", help="else the head of your settings")
    parser.add_argument(
        "--readings", metavar="FILE", help="angle, reading, face, setting: a line each; no face "
        "where the angle is known (sine bar, square, certificate)"
    )  # fmt: skip
    parser.add_argument(
        "--faces", type=int, default=9, metavar="N", help="ask for every place of such a plug (9)"
    )
    parser.add_argument(
        "--radius", type=float, metavar="MM", help="readings are mm at this radius, not arc-seconds"
    )
    parser.add_argument("--save", action="store_true", help="write the bound into the head's file")
    return parser


def job() -> Parser:
    """The file to check."""
    parser = Parser(
        "job",
        "Check a job file and explain the job: set-up, moves, cuts, depths, time. `tallyhand job "
        "new` writes one by question and answer, `tallyhand job edit` changes it.",
        "tallyhand job check config/jobs/pinion.toml",
    )
    parser.add_argument("action", choices=["check"])
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--json", action="store_true", help="write JSON only")
    parser.add_argument("--drawing", metavar="SVG", help="also write the part's drawing there")
    parser.add_argument("--cut", type=int, metavar="N", help="the cut that the drawing highlights")
    return parser


def job_new() -> Parser:
    """Where the job is written, the head that is offered, and answers from a file or on a page."""
    parser = Parser(
        "job new",
        "From the drawing to a job file, by question and answer; the plan comes at the end, with "
        "a way back to each answer. Enter takes what stands in brackets, < goes back, q leaves.",
        "tallyhand job new --out hexagon.toml",
    )
    parser.add_argument("--out", metavar="FILE", help="the job file (else named after its title)")
    parser.add_argument(
        "--voice", action="store_true", help="speak the questions, and listen for figures"
    )
    parser.add_argument("--head", metavar="HEAD", help="offered as the head (else your own)")
    _add_interview_options(parser, "the same questions as a page, for a browser here")
    return parser


def job_edit() -> Parser:
    """The file to change, and answers from a file."""
    parser = Parser(
        "job edit",
        "Change answers of a job file; comments stay. Where the file has faults, it asks only "
        "for what they name.",
        "tallyhand job edit hexagon.toml",
    )
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--ring", metavar="NAME", help="this ring of several: name or number")
    _add_interview_options(parser, "as a page, for a browser here")
    return parser


def _add_interview_options(parser: Parser, page: str) -> None:
    """Where the answers come from, for both: a file, a page, the settings."""
    parser.add_argument("--answers", metavar="FILE", help="answers, a line each, for a script")
    parser.add_argument("--page", action="store_true", help=page)
    parser.add_argument("--port", type=int, metavar="N", help="port of that page, 0: any")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")


def sheet_parser() -> Parser:
    """The job, the file that the sheet is written to, its paper and its head."""
    parser = Parser(
        "sheet",
        "The job on one printed page: set-up, drawings, a table of every position, safety, "
        "signatures. PDF or HTML, by the ending of the file.",
        "tallyhand sheet config/jobs/pinion.toml --out pinion.pdf",
    )
    parser.add_argument("job", metavar="JOB")
    parser.add_argument("--out", metavar="FILE", help="FILE.pdf or FILE.html (JOB-sheet.pdf)")
    parser.add_argument("--paper", choices=list(PAPERS), default="a4")
    return parser


def leads_parser() -> Parser:
    """The head and its screw, the lead that is wanted or a stretch of them, and the form
    of the answer.
    """
    parser = Parser(
        "leads",
        "The leads that the change gears of a head give: every one, those of a stretch, or the "
        "nearest to the one that is wanted. On the head's own spindle too, where it takes a gear.",
        "tallyhand leads --head three-plate-40-geared --screw '5 mm' --lead '36 mm'",
    )
    parser.add_argument("--head", metavar="NAME_OR_FILE", help="a head (else that of the settings)")
    parser.add_argument("--screw", metavar="LENGTH", required=True, help="lead of the table screw")
    parser.add_argument("--lead", metavar="LENGTH", help="the lead wanted: the nearest come first")
    parser.add_argument("--most", metavar="N", type=_whole, default=8, help="so many of them (8)")
    parser.add_argument("--from", metavar="LENGTH", dest="first", help="no shorter lead")
    parser.add_argument("--to", metavar="LENGTH", dest="last", help="no longer lead")
    parser.add_argument("--csv", action="store_true", help="write CSV")
    parser.add_argument("--json", action="store_true", help="write JSON only")
    return parser


def _whole(text: str) -> int:
    number = int(text)
    if not 1 <= number <= 100_000:
        raise ValueError(text)
    return number


def run() -> Parser:
    """The job, or one of the log again, and how this bench hears, shows and is answered."""
    parser = Parser(
        "run",
        "Talk through a job at the bench: voice, pedal, keyboard and screen, whichever are there.",
        "tallyhand run pinion\n         tallyhand run my-jobs/hexagon.toml\n"
        "         tallyhand run --again hexagon",
    )
    parser.add_argument(
        "job", nargs="?", metavar="JOB", help="a job file, or a job of the program by name"
    )
    parser.add_argument(
        "--again", metavar="JOB-ID", help="a job of the log as it was finally done, by a part of "
        "its name or title: plate, order, depth, notes, times"
    )  # fmt: skip
    parser.add_argument("--operator", metavar="NAME", help="who works, for the report")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    page_options.add_page_options(parser)
    head_options.add_head_options(parser)
    pace_options.add_words_option(parser)
    data_folder.add_data_option(parser)
    return parser


def resume() -> Parser:
    """Whose settings, and where page and journals are."""
    parser = Parser(
        "resume",
        "Go on with the last unfinished job. It begins with a check of the position: "
        "the journal can't know what the metal did.",
        "tallyhand resume",
    )
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    page_options.add_page_options(parser)
    data_folder.add_data_option(parser)
    return parser


def rehearse() -> Parser:
    """The job, or one of the log again, and the script that stands for the person."""
    parser = Parser(
        "rehearse",
        "Run a job with no device: a script stands for the person. Without --script, each line "
        "typed is a phrase, and an empty line is a press of the pedal.",
        "tallyhand rehearse config/jobs/pinion.toml --script presses.jsonl --json",
    )
    parser.add_argument("job", nargs="?", metavar="JOB")
    parser.add_argument(
        "--again", metavar="JOB-ID", help="a job of the log as it was finally done (with --data)"
    )
    parser.add_argument("--script", default="-", metavar="FILE", help="JSON lines; - is stdin")
    parser.add_argument("--json", action="store_true", help="write JSON lines only")
    parser.add_argument("--language", metavar="CODE", help="else that of your settings")
    head_options.add_head_options(parser)
    pace_options.add_words_option(parser, "a script gets whole sentences unless this says few")
    data_folder.add_data_option(parser)
    return parser


def log() -> Parser:
    """Which jobs are meant, from which folders, and as what they are written."""
    parser = Parser(
        "log",
        "The finished and unfinished jobs: all of them, or those that are meant. In brackets what "
        "names one for run --again and report. `tallyhand log verify` checks that each journal is "
        "as it was written.",
        "tallyhand log pinion --since 2026-05\n         tallyhand log --all north south",
    )
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="in name, title, part, drawing, head, operator, "
        "machine"
    )  # fmt: skip
    parser.add_argument("--part", metavar="NUMBER", help="of the part")
    parser.add_argument("--head", metavar="HEAD", help="in the head's description")
    parser.add_argument("--since", metavar="DAY", help="begun then or later, as 2026-05-02")
    parser.add_argument("--until", metavar="DAY", help="begun then or earlier")
    parser.add_argument(
        "--all",
        nargs="+",
        default=[],
        metavar="FOLDER",
        help="folders of several machines together",
    )
    parser.add_argument("--out", metavar="FILE", help="the list as .csv or .parquet")
    parser.add_argument("--json", action="store_true", help="every job with its events, as JSON")
    data_folder.add_data_option(parser)
    return parser


def log_verify() -> Parser:
    """Which journals, and the last hash that was noted."""
    parser = Parser("log verify", _VERIFY, "tallyhand log verify --json")
    parser.add_argument("journal", metavar="JOURNAL", nargs="*", help="files (else all of them)")
    parser.add_argument("--ends", metavar="HASH", help="the last hash noted, or how it begins")
    parser.add_argument("--json", action="store_true", help="a verdict for each journal, as JSON")
    data_folder.add_data_option(parser)
    return parser


def report_parser() -> Parser:
    """Which job, and the file that the report is written to."""
    parser = Parser(
        "report",
        "What happened in a job: every cut with its times and confirmations, sizes, overshoots, "
        "refusals, notes, devices. HTML, PDF, CSV, SQLite or Parquet, by the ending of the "
        "file.",
        "tallyhand report --out pinion.pdf",
    )
    parser.add_argument(
        "job", nargs="?", metavar="JOB", help="part of a journal's name or title (the last worked)"
    )
    parser.add_argument("--all", action="store_true", help="every job (CSV and SQLite)")
    parser.add_argument(
        "--learned", action="store_true", help="one page over all jobs: seconds a cut, slips by "
        "kind, sizes against expectation, for each head"
    )  # fmt: skip
    parser.add_argument("--operator", metavar="NAME", help="with --learned: this person's jobs")
    parser.add_argument(
        "--out", metavar="FILE", help=".html, .pdf, .csv, .sqlite, .parquet (report.html)"
    )
    parser.add_argument(
        "--inspection", metavar="FILE", help="readings tooth by tooth, as for tallyhand inspect"
    )
    _add_unit(parser)
    parser.add_argument(
        "--bench", metavar="NAME", help="name of this bench in the rows (the host's)"
    )
    data_folder.add_data_option(parser)
    return parser


def _add_unit(parser: Parser) -> None:
    parser.add_argument(
        "--unit", choices=("mm", "um", "in", "thou"), help="of the readings; um is a micrometre"
    )


def inspect_part() -> Parser:
    """Readings from a file, typed or told, and how the part was measured."""
    parser = Parser(
        "inspect",
        "The spacing of a finished part by the definitions of ISO 1328-1: an indicator at each "
        "tooth against the head, or spans, or pins; from a file, or typed one by one.",
        "tallyhand inspect teeth.txt --out chart.svg",
    )
    parser.add_argument("readings", metavar="FILE", nargs="?", help="a reading a line")
    parser.add_argument("--teeth", type=int, metavar="N", help="ask for the readings of N teeth")
    parser.add_argument("--voice", action="store_true", help="ask and listen, with --teeth")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    parser.add_argument("--span", type=int, metavar="K", help="readings are spans over K teeth")
    parser.add_argument(
        "--pins", type=int, metavar="K", help="readings are over two pins, K spaces apart"
    )
    _add_unit(parser)
    parser.add_argument("--job", metavar="JOB-ID", help="keep it with this job, for its report")
    parser.add_argument("--data", metavar="DIR", help="where the journals are")
    parser.add_argument(
        "--k", type=int, metavar="K", help="pitches to sum (an eighth of the teeth)"
    )
    parser.add_argument("--out", metavar="FILE", help="a polar chart of the deviations, as SVG")
    return parser


def hear() -> Parser:
    """The recordings, and the phase in which they are heard."""
    parser = Parser(
        "hear",
        "Run the recogniser over recordings: a line for each utterance, taken or not, and why.",
        "tallyhand hear --expecting lock --json clip.wav",
    )
    parser.add_argument("files", metavar="FILE.wav", nargs="+")
    parser.add_argument("--expecting", metavar="PHASE", help="refuse what makes no sense then")
    parser.add_argument("--json", action="store_true", help="a JSON object a line")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    return parser


def phrases() -> Parser:
    """What is to be done, and with which file of phrases."""
    parser = Parser(
        "phrases",
        "check: words that the recogniser does not know, and phrases that sound alike, each with "
        "its line and something to say instead. list: every phrase that is listened for. "
        "suggest: phrases that could be added.",
        "tallyhand phrases check phrases.toml",
    )
    parser.add_argument("action", choices=["check", "list", "suggest"])
    parser.add_argument("file", metavar="FILE", nargs="?", help="else your own phrases.toml")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    return parser


def voice_parser() -> Parser:
    """What is to be done, with which phrases, and recordings from a folder."""
    parser = Parser(
        "voice",
        "Teach the ear your voice: three recordings of each phrase, kept on this machine only. "
        "`learn` records and learns, `forget` deletes recordings and what was learned.",
        "tallyhand voice learn",
    )
    parser.add_argument("what", choices=["status", "learn", "forget"], nargs="?", default="status")
    parser.add_argument("--phrase", action="append", metavar="PHRASE", help="record this one only")
    parser.add_argument("--from", dest="folder", metavar="DIR", help="learn from these WAV files")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    return parser


def doctor() -> Parser:
    """What is looked at, taught or named."""
    parser = Parser(
        "doctor",
        "Look at microphone, speaker, recogniser and pedal; say what to do about what is missing.",
        "tallyhand doctor",
    )
    parser.add_argument(
        "--where", action="store_true", help="name every folder that something is kept in"
    )
    parser.add_argument("--learn-pedal", action="store_true", help="teach which key the pedal is")
    parser.add_argument(
        "--learn-second-pedal", action="store_true",
        help="teach a second pedal, which says again and pauses",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="the findings as JSON")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    return parser


_PARSERS = {
    "setup": setup,
    "job": job,
    "job_new": job_new,
    "job_edit": job_edit,
    "sheet": sheet_parser,
    "leads": leads_parser,
    "run": run,
    "resume": resume,
    "rehearse": rehearse,
    "log": log,
    "setup_errors": setup_errors,
    "inspect_part": inspect_part,
    "log_verify": log_verify,
    "report": report_parser,
    "hear": hear,
    "phrases": phrases,
    "voice": voice_parser,
    "doctor": doctor,
}

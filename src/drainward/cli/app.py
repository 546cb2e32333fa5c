"""The commands. Heavy imports stand inside them: `--help` is quick."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from drainward.cli.exits import ExitCode, Finished
from drainward.errors import DrainwardError, InputError

__all__ = ["app", "main"]

app = typer.Typer(
    name="drainward",
    help="Does the shower floor drain? Findings from readings, with their uncertainty.\n\n"
    "Exit codes: 0 meets, 1 fails, 2 not proven, 64 bad use, 65 bad input.",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


class Stage(StrEnum):
    """The stages that `check` answers, in the order of the work.

    `job`: what the picked rules and units allow; `survey`: does the room take its unit; `way in`: how it gets there;
    `dry set`: where it stands; `bed`: the mortar under it; `set`: its holes and what hangs on its walls;
    `draft`: the floor of a unit just set; `fasten`: its screws; `brace`: what holds it down while the bed sets;
    `cure`: the clock of its bed, and its floor then; `support`: whether the bed carries it; `water test`
    """

    JOB = "job"
    SURVEY = "survey"
    WAY_IN = "way in"
    DRY_SET = "dry set"
    BED = "bed"
    SET = "set"
    DRAFT = "draft"
    FASTEN = "fasten"
    BRACE = "brace"
    CURE = "cure"
    SUPPORT = "support"
    WATER = "water test"


def _stage(written: str) -> Stage:
    """A stage as it is written; a dash may stand for the space."""
    try:
        return Stage(written.replace("-", " "))
    except ValueError:
        raise typer.BadParameter(f'"{written}" is no stage; expected {", ".join(Stage)}') from None


JobFolder = Annotated[Path, typer.Argument(metavar="JOB", help="Job folder.", exists=True, file_okay=False)]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object, SI units.")]
Port = Annotated[int, typer.Option("--port", help="Port of the page; 0 takes a free one.", min=0, max=65535)]
RoomName = Annotated[str, typer.Option("--room", metavar="R", help="Room, as in rooms.csv.")]


def main(args: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code. args : words after the program's name, default `sys.argv`."""
    try:
        app(args=None if args is None else list(args), prog_name="drainward")
    except Finished as finished:
        return finished.code
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return ExitCode.BAD_INPUT
    except (DrainwardError, OSError) as error:
        sys.stderr.write(f"drainward: {error}\n")
        return ExitCode.BAD_USE
    except SystemExit as leaving:
        # Help leaves with 0 and Ctrl-C with 130; all else is a usage error, whose own code, 2, means "not proven" here.
        return leaving.code if leaving.code in (0, 130) and isinstance(leaving.code, int) else ExitCode.BAD_USE
    return ExitCode.MEETS


@app.command()
def check(
    job: JobFolder,
    room: Annotated[str | None, typer.Option("--room", metavar="R", help="One room; all rooms without it.")] = None,
    stage: Annotated[
        Stage | None,
        typer.Option(
            "--stage",
            metavar="S",
            parser=_stage,
            help="One of job, survey, way-in, dry-set, bed, set, draft, fasten, brace, cure, support, water-test; "
            "job and draft without it.",
        ),
    ] = None,
    at: Annotated[
        str,
        typer.Option("--at", metavar="TIME", help="When a bed's clock is read, such as 2026-05-06T14:30; else now."),
    ] = "",
    as_json: Json = False,
) -> None:
    """Findings of one room, one stage, or all."""
    from drainward.cli.answer import refusing
    from drainward.cli.check import run

    with refusing(room, str(stage or Stage.DRAFT), as_json):
        run(job, room, None if stage is None else str(stage), as_json, at)


@app.command()
def handover(
    job: JobFolder,
    room: RoomName,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="PDF to write [handover-R.pdf].")
    ] = None,
    water: Annotated[
        bool, typer.Option("--water", help="With the water page though no water test is recorded; takes longer.")
    ] = False,
    blank_survey: Annotated[
        bool, typer.Option("--blank-survey", help="Instead a sheet to survey the room by hand [survey-R.pdf].")
    ] = False,
    as_json: Json = False,
) -> None:
    """The evidence of one room, as PDF; with its water page where a water test is recorded."""
    from drainward.cli.answer import refusing
    from drainward.cli.handover import run, survey_sheet

    if blank_survey:
        with refusing(room, str(Stage.SURVEY), as_json):
            survey_sheet(job, room, output, as_json)
    with refusing(room, str(Stage.DRAFT), as_json):
        run(job, room, output, water, as_json)


@app.command()
def card(
    job: JobFolder,
    room: RoomName,
    language: Annotated[str, typer.Option("--language", metavar="L", help="en or es.")] = "en",
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="PDF to write [card-R.pdf].")
    ] = None,
    as_json: Json = False,
) -> None:
    """The crew's card of one room: one page with its own numbers in the order of the work, as PDF."""
    from drainward.cli.answer import refusing
    from drainward.cli.card import run

    with refusing(room, "card", as_json):
        run(job, room, language, output, as_json)


@app.command()
def takeoff(
    job: JobFolder,
    certainty: Annotated[
        float | None,
        typer.Option(
            "--certainty", metavar="C", help="That mortar and adhesive are enough, such as 0.99; else what costs least."
        ),
    ] = None,
    braces: Annotated[
        int | None, typer.Option("--braces", metavar="N", help="Sets of braces at most; else as the dates ask.", min=1)
    ] = None,
    xlsx: Annotated[Path | None, typer.Option("--xlsx", metavar="FILE", help="Spreadsheet to write.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="CSV of the deliveries to write.")] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="PDF to write, with pictures of the sticks.")
    ] = None,
    as_json: Json = False,
) -> None:
    """What to buy and cut for all rooms, by delivery, with saw lists."""
    from drainward.cli.answer import refusing
    from drainward.cli.takeoff import run

    with refusing(None, "takeoff", as_json):
        run(job, certainty, braces, {"xlsx": xlsx, "csv": csv, "pdf": pdf}, as_json)


@app.command()
def labels(
    job: JobFolder,
    url: Annotated[str, typer.Option("--url", metavar="ADDRESS", help="Of the page, as phones on site reach it.")],
    room: Annotated[
        list[str] | None, typer.Option("--room", metavar="R", help="One room, may be repeated; all without it.")
    ] = None,
    pdf: Annotated[Path, typer.Option("--pdf", metavar="FILE", help="PDF to write.")] = Path("labels.pdf"),
    as_json: Json = False,
) -> None:
    """Labels for the doors of rooms, each with a code that opens the room's page."""
    from drainward.cli.answer import refusing
    from drainward.cli.labels import run

    with refusing(None, "labels", as_json):
        run(job, url, room or [], pdf, as_json)


@app.command()
def plan(
    job: JobFolder,
    replan: Annotated[bool, typer.Option("--replan", help="Mend the plan before: move as little as may be.")] = False,
    what_if: Annotated[
        list[str] | None,
        typer.Option("--what-if", metavar="W", help="Beside it: crew, kits=10 or saturday; may be given again."),
    ] = None,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", metavar="DIR", help="A calendar file (RFC 5545) for each crew.")
    ] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="The board and the lists, as PDF.")] = None,
    on: Annotated[
        datetime | None,
        typer.Option("--on", metavar="DATE", formats=["%Y-%m-%d"], help="As that morning, not now: 2026-03-04."),
    ] = None,
    seconds: Annotated[
        float, typer.Option("--seconds", metavar="N", help="How long to look for a better plan.", min=1, max=3600)
    ] = 20.0,
    as_json: Json = False,
) -> None:
    """Crews, kits and dates of the whole job; the plan is kept in the job's schedule.csv."""
    from drainward.cli.answer import refusing
    from drainward.cli.plan import run

    with refusing(None, "plan", as_json):
        run(job, replan, seconds, what_if or (), calendar, pdf, None if on is None else on.date(), as_json)


@app.command(name="import")
def import_(
    room_list: Annotated[
        Path, typer.Argument(metavar="LIST", help="Room list, CSV or XLSX.", exists=True, dir_okay=False)
    ],
    job: Annotated[Path, typer.Option("--job", metavar="JOB", help="Job folder.", exists=True, file_okay=False)],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say row by row what was read; write nothing.")] = False,
    dates: Annotated[
        str, typer.Option("--dates", metavar="ORDER", help="How 3/4/2026 is read: day-first or month-first.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Take rooms from a list into the job's rooms.csv."""
    from drainward.cli.answer import refusing
    from drainward.cli.import_rooms import run

    with refusing(None, "import", as_json):
        run(room_list, job, dry_run, dates, as_json)


@app.command()
def demo(
    serve: Annotated[bool, typer.Option("--serve/--no-serve", help="Serve the page after computing.")] = True,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the made-up job is written.")] = Path(
        "demo-job"
    ),
    port: Port = 8080,
    as_json: Json = False,
) -> None:
    """A made-up job, computed live, then the page."""
    from drainward.cli.demo import run

    run(out, port if serve else None, as_json)


@app.command()
def serve(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="Job folder.", exists=True, file_okay=False)] = Path(),
    db: Annotated[
        str | None, typer.Option("--db", metavar="URL", help="The record; in the job folder if none.")
    ] = None,
    port: Port = 8080,
    host: Annotated[str, typer.Option("--host", help="0.0.0.0 lets phones on this network in.")] = "127.0.0.1",
) -> None:
    """The page, for a phone held in one hand."""
    from drainward.web import serve as serve_page

    serve_page(job, db=db, host=host, port=port)


@app.command()
def validate(as_json: Json = False) -> None:
    """Run the outside checks and print each beside its source."""
    from drainward.cli.validate import run

    run(as_json)

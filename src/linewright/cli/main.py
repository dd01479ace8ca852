"""The entry of the command line: finds the commands, and turns every failure into words and an exit code.

Exit codes: 0 done, 1 the input has problems, 2 wrong usage, 3 the answer is no; 130 when stopped by the user, and 70
for a fault of Linewright itself.
"""

from __future__ import annotations

import ctypes
import gc
import io
import os
import pkgutil
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from linewright import __version__
from linewright.cli.outcome import FAULT, STOPPED, USAGE, report_problems

ARENA_MAX = -8
"""The number by which glibc's ``mallopt`` knows its pools of memory."""


class Commands(click.Group):
    """A group whose commands are the modules of ``linewright.cli.commands``, imported when asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of all commands, in order of the alphabet."""
        from linewright.cli import commands

        return sorted(module.name.rstrip("_") for module in pkgutil.iter_modules(commands.__path__))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module = cmd_name + "_" if cmd_name in ("import",) else cmd_name
        command: click.Command = import_module(f"linewright.cli.commands.{module}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, with the nearest name where there is no such command."""
        if args and not args[0].startswith("-") and args[0] not in self.list_commands(ctx):
            from linewright.base.problems import did_you_mean

            hint = did_you_mean(args[0], self.list_commands(ctx))
            ctx.fail(f'there is no command "{args[0]}"; {hint}')
        return super().resolve_command(ctx, args)


@click.command(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit status: 0 done, 1 the plan has problems, 2 wrong usage, 3 the answer is no.",
)
@click.version_option(__version__, prog_name="linewright")
def group() -> None:
    """How a product is made, in one file; whether the line makes the rate, from that file."""


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code; nothing but the code and the printed words leaves here."""
    from linewright.base.problems import ProblemsError

    _be_thrifty()
    given = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a letter must not end the program
    try:
        done = group.main(args=given, prog_name="linewright", standalone_mode=False)
        return done if isinstance(done, int) else 0
    except ProblemsError as wrong:
        return report_problems(wrong.problems, as_json="--json" in given)
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.ClickException as wrong:
        wrong.show()
        return USAGE
    except (KeyboardInterrupt, click.Abort):
        click.echo("stopped", err=True)
        return STOPPED
    except BrokenPipeError:
        # Whoever read our output has left; point stdout elsewhere so that closing it says nothing.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except SystemExit as left:
        if isinstance(left.__context__, BrokenPipeError):  # so the library that draws tables says the same
            return 0
        return left.code if isinstance(left.code, int) else USAGE
    except OSError as wrong:
        click.echo(f"Error: {wrong.filename or 'a file'}: {wrong.strerror or wrong}", err=True)
        return USAGE
    except Exception as fault:
        return _fault(fault)


def _be_thrifty() -> None:
    """A command lives for seconds and makes few circles of things: look for them seldom. And one pool of memory will do
    for all threads, so that what one has done with serves the others (glibc would begin one for each)."""
    gc.set_threshold(50_000, 20, 50)
    if sys.platform == "linux":
        mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
        if mallopt is not None:
            mallopt(ARENA_MAX, 1)


def _fault(fault: Exception) -> int:
    if os.environ.get("LINEWRIGHT_DEBUG"):
        raise fault
    words = str(fault).split("\n")[0]
    click.echo(f"Linewright itself failed: {type(fault).__name__}: {words}", err=True)
    click.echo("This is a fault of the program and not of the plan. LINEWRIGHT_DEBUG=1 shows where it is.", err=True)
    return FAULT


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run())

"""The commands, each loaded only when it is called, and the one place where errors become text."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

import click

from enginesim import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence

# Command: what `--help` says of it. Its module in this room has the same name, and in it a
# function `command`.
COMMANDS = {
    "new": "Write a commented case file from about twelve numbers.",
    "check": "Check a case and show what follows from it without simulating.",
    "run": "Predict torque, power and breathing against speed.",
    "compare": "Compare engines, or one engine with parts exchanged, over speed.",
    "sheet": "Fill in a bench sheet: cam card, clearance, springs, sizes.",
    "accelerate": "Put engines into a vehicle: times, changes up, pull.",
    "sweep": "Run many engines that differ in a few fields.",
    "search": "Look for the best engine with few runs.",
    "store": "List, check, prune, export and merge stored results.",
    "validate": "Compare the program with what is known from elsewhere.",
    "bench": "Measure what this machine does.",
}

_WRONG_INPUT = 2
_INTERRUPTED = 130


class LazyGroup(click.Group):
    """A group that imports a sub-command when it is called, not to list it."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002, D102
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002, D102
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"enginesim.cli.{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click, with the nearest command in the message."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from enginesim.base.names import nearest

            near = nearest(args[0], COMMANDS)
            hint = f", did you mean {near!r}?" if near else f"; there are {', '.join(COMMANDS)}"
            raise click.UsageError(f"no command {args[0]!r}{hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="enginesim")
def group() -> None:
    """Predict the torque, power and breathing of a piston engine from its dimensions."""


def main(arguments: Sequence[str] | None = None) -> int:
    """
    Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the program's name; by default those of the process.

    Returns
    -------
    int
        Exit code: 0, 2 when the input is wrong, 130 when interrupted, or what a command says.
    """
    from enginesim.base.characters import shortened, visible
    from enginesim.base.errors import CaseError, EngineSimError, told
    from enginesim.base.text_file import recording
    from enginesim.base.threads import keep_to_one_thread

    keep_to_one_thread()
    _accept_any_text()
    words = None if arguments is None else list(arguments)
    try:
        with recording():
            code: Any = group.main(args=words, prog_name="enginesim", standalone_mode=False)
    except click.UsageError as error:
        click.UsageError(shortened(error.format_message()), error.ctx).show()
        return _WRONG_INPUT
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return _INTERRUPTED
    except CaseError as error:
        n = len(error.problems)
        click.echo(f"{n} problem{'s' if n != 1 else ''}:", err=True)
        for line in told(error.problems):
            click.echo(f"  {line}", err=True)
        return _WRONG_INPUT
    except EngineSimError as error:
        click.echo(f"error: {visible(str(error), has_lines=True)}", err=True)
        return _WRONG_INPUT
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    return code if isinstance(code, int) else 0


def _accept_any_text() -> None:
    """Write out what an output cannot hold, such as half a character in the name of a file."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


if __name__ == "__main__":
    sys.exit(main())

"""``linewright serve``: the plans of a folder as local pages, to see and to change."""

from __future__ import annotations

from pathlib import Path

import click

from linewright.cli.outcome import USAGE


@click.command(short_help="Open the plans of a folder as local pages.")
@click.argument("folder", type=click.Path(exists=True, file_okay=False), default=".")
@click.option("--port", type=click.IntRange(1, 65535), help="The port (default: the first free one from 8750).")
@click.option(
    "--host", default="127.0.0.1", show_default=True,
    help="Where to listen. Any other than this machine lets others read and change the plans.",
)  # fmt: skip
@click.option("--browser/--no-browser", default=True, help="Open a browser (default), or not.")
def command(folder: str, port: int | None, host: str, browser: bool) -> int:
    """Serve the plans in FOLDER (default: this one) on this machine until Ctrl-C.

    The pages need no network. They are reached from this machine only, unless --host says otherwise.
    """
    try:
        from linewright.pages.serve import is_loopback, serve
    except ModuleNotFoundError as missing:
        click.echo(f'The pages need the extra "pages" ({missing.name}): pip install "linewright[pages]"', err=True)
        return USAGE
    if not is_loopback(host):
        click.echo("Others who can reach this port and have the address can read and change the plans.", err=True)

    def told(address: str) -> None:
        click.echo(f"{address}  (the plans in {Path(folder).resolve()}; Ctrl-C ends it)")
        if browser:
            click.launch(address)

    try:
        serve(folder, host=host, port=port, told=told)
    except OSError as wrong:
        click.echo(f"Error: cannot listen at {host}: {wrong.strerror or wrong}", err=True)
        return USAGE
    return 0

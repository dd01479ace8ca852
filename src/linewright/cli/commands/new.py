"""``linewright new``: a small valid plan with comments, to begin from."""

from __future__ import annotations

from pathlib import Path

import click

from linewright.cli.outcome import json_option, print_json, write_new


@click.command(short_help="Write a small plan with comments to begin from.")
@click.argument("name")
@click.option("--to", type=click.Path(dir_okay=False), help="Where it goes (default: NAME.toml in this folder).")
@json_option
def command(name: str, to: str | None, as_json: bool) -> None:
    """Write a small valid plan called NAME, or into the file NAME. A file that is there already is left alone."""
    from linewright.plan import new_plan

    if name.endswith(".toml"):
        to, name = to or name, Path(name).stem.replace("_", " ").strip() or "plan"
    path = write_new(to, name, ".toml", new_plan(name))
    if as_json:
        print_json({"exit": 0, "plan": path})
    else:
        click.echo(f'wrote {path}; next: linewright answer "{path}"')

"""The command `fonts`: which fonts there are, told or drawn."""

import json
import unicodedata
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from personalize.cli_tell import refused
from personalize.errors import InputError, refuse
from personalize.specimen import (
    Entry,
    Found,
    bundled_entries,
    families,
    installed_entries,
    installed_fonts,
    write_picture,
)


@click.command("fonts")
@click.option("--installed", is_flag=True, help="The fonts installed on this machine.")
@click.option("--picture", help="Draw each with its sample: a new .svg or .png file.")
@click.option("--words", help="Words to draw in place of the samples.")
@click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON.")
def fonts_command(
    *, installed: bool, picture: str | None, words: str | None, as_json: bool
) -> None:
    """Tell which fonts a design can name."""
    found = installed_fonts() if installed else ()
    entries = installed_entries(found, words) if installed else bundled_entries(words)
    try:
        _check_words(words or "")
        if picture is not None:
            write_picture(entries, Path(picture))
    except InputError as error:
        refused(error, as_json=as_json)
    if as_json:
        told = _found_json(found) if installed else _entries_json(entries)
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    elif installed:
        _tell_installed(found)
    else:
        _tell_bundled(entries)
    if picture is not None and not as_json:
        click.echo(f"Wrote {picture}.")


def _check_words(words: str) -> None:
    """Refuse what cannot stand on one line of a picture (XML 1.0, section 2.2)."""
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in words):
        raise refuse(
            "--words",
            "the words hold a line end, a control character or broken text.",
            "Give the words of one line.",
        )


def _entries_json(entries: Sequence[Entry]) -> list[dict[str, Any]]:
    return [
        {
            "name": entry.font.name,
            "role": entry.font.role,
            "scripts": entry.scripts,
            "sample": entry.sample,
        }
        for entry in entries
    ]


def _found_json(found: Sequence[Found]) -> list[dict[str, Any]]:
    return [
        {
            "family": item.member.family,
            "name": item.member.full_name,
            "file": item.member.path.name,
            "usable": item.font is not None,
            "why_not": item.why_not,
            "axes": {a.tag: [a.least, a.default, a.most] for a in item.member.axes},
            "instances": [instance.name for instance in item.member.instances],
        }
        for item in found
    ]


def _tell_bundled(entries: Sequence[Entry]) -> None:
    wide = max(len(entry.font.name) for entry in entries)
    for is_text, heading in (
        (True, "To name in a design, such as font = "),
        (False, "Filling in where the design's font lacks letters:"),
    ):
        part = [entry for entry in entries if entry.is_text is is_text]
        click.echo(heading + (f'"{part[0].font.name}":' if is_text else ""))
        for entry in part:
            scripts = ", ".join(entry.scripts)
            click.echo(f"  {entry.font.name:<{wide}}  {scripts}: {entry.sample}")


def _tell_installed(found: Sequence[Found]) -> None:
    count = 0
    for family, fonts in families(found):
        names = []
        for item in fonts:
            names += [f"{family} {i.name}" for i in item.member.instances]
            names += [] if item.member.instances else [item.member.full_name]
        click.echo(f"{family}: {', '.join(dict.fromkeys(names))}")
        count += 1
    left = [item for item in found if item.font is None]
    for item in left:
        click.echo(f"Not usable: {item.why_not}")
    if count:
        click.echo(f"{count} famil{'ies' if count > 1 else 'y'} installed.")
    else:
        click.echo("No usable font is installed.")

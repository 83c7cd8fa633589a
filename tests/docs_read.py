"""Commands and options as pages of the docs have them."""

import re

from tests.conftest import ROOT

COMMAND = re.compile(r"^ {4}(personalize .+)$|`(personalize [^`]+)`", re.M)
OPTION = re.compile(r"`(--[a-z-]+(?: [^`\s]+)?)`")


def page(name: str) -> str:
    """Give the text of a page by its name, README or one of docs."""
    path = ROOT / "README.md" if name == "README" else ROOT / "docs" / f"{name}.md"
    return path.read_text("utf-8")


def commands(text: str) -> list[str]:
    """Give every command of a page, those in passing too."""
    return [block or inline for block, inline in COMMAND.findall(text)]


def block_commands(text: str) -> list[str]:
    """Give the commands that stand on lines of their own."""
    return [block for block, _ in COMMAND.findall(text) if block]

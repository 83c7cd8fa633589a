"""A tag that is not its own mirror image, printed on both sides; for several tests."""

from pathlib import Path

from tests.conftest import drawing, line, put

EDGE = "M5 5H55V15H25V35H5Z"
TURNED_EDGE = "M55 5H5V15H35V35H55Z"
FRONT = '<rect x="-5" y="-5" width="80" height="60" fill="#2a6"/>'
BEHIND = (
    '<g id="behind"><rect x="-5" y="-5" width="80" height="60" fill="#c62"/>'
    '<circle cx="45" cy="30" r="3" fill="#000"/></g>'
)
TOML = (
    '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n[type]\nmax_pt = 14\n'
    '[[panel]]\nname = "front"\nat = [15, 12]\n'
)
BACK = '[back]\nshow = "#behind"\n[[back.panel]]\nname = "note"\nat = [45, 12]\n'
MESSAGES = "front,note\nAda,Sown in May\nBo,Water it\nCyd,Loves sun\nDee,In a pot\n"


def tag(folder: Path, toml: str = TOML + BACK, svg: str = FRONT + BEHIND) -> Path:
    """Write a design and a list; give the design's file."""
    put(folder, {"ell.svg": drawing(svg + line(EDGE)), "ell.toml": toml})
    put(folder, {"list.csv": MESSAGES})
    return folder / "ell.toml"

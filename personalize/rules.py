"""Every rule that a finding can be made by: its name, and what is known of it.

The words stand in `rules.toml`, one table a rule. `personalize.rules_page` makes
docs/findings.md of them.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files


class Rule(StrEnum):
    """Names of all rules; the names are our own."""

    DOES_NOT_FIT = "does-not-fit"
    ONE_LINE = "one-line"
    MISSING_LETTER = "missing-letter"
    SMALL_FOR_DISTANCE = "small-for-distance"
    THIN_STROKE = "thin-stroke"
    FAINT_WORDS = "faint-words"
    TORN_WORDS = "torn-words"
    NO_WORDS = "no-words"
    OTHER_FONT = "other-font"
    NOT_SPACED = "not-spaced"
    MORE_LINES = "more-lines"
    OWN_SIZE = "own-size"
    HOLDS_BACK = "holds-back"
    NO_FEATURE = "no-feature"
    NO_HYPHENATION = "no-hyphenation"
    SAME_NAME = "same-name"
    NEAR_TWINS = "near-twins"
    NUMBERS_AS_WORDS = "numbers-as-words"
    HEADING_LIKE_DATA = "heading-like-data"
    SPACES = "spaces"
    INVISIBLE_CHARACTERS = "invisible-characters"
    CONTROL_CHARACTERS = "control-characters"
    WRONG_DECODING = "wrong-decoding"
    ENCODING_GUESSED = "encoding-guessed"
    HEADING_NEAR_COPIES = "heading-near-copies"
    HEADING_NEAR_VERSION = "heading-near-version"
    HEADING_NEAR_TEXT_COLOUR = "heading-near-text_colour"
    HEADING_NEAR_PICTURE = "heading-near-picture"
    UNREADABLE_FORMAT = "unreadable-format"
    ERROR_CELL = "error-cell"
    FORMULA_NOT_SAVED = "formula-not-saved"
    HIDDEN_ROWS = "hidden-rows"
    MERGED_CELLS = "merged-cells"
    DATE_FORMAT = "date-format"
    CONDITIONAL_FORMAT = "conditional-format"
    SHOWS_NOTHING = "shows-nothing"
    UNKNOWN_VERSION = "unknown-version"
    TWO_VERSIONS = "two-versions"
    OTHER_VERSION = "other-version"
    NOT_A_COLOUR = "not-a-colour"
    VERSION_UNUSED = "version-unused"
    PICTURE_UNUSED = "picture-unused"
    MISSING_PICTURE = "missing-picture"
    UNUSABLE_PICTURE = "unusable-picture"
    COARSE_PICTURE = "coarse-picture"
    NO_PICTURE = "no-picture"
    SIZE_NOT_STATED = "size-not-stated"
    OPEN = "open"
    CROSSING = "crossing"
    DOUBLED = "doubled"
    TINY_LOOP = "tiny-loop"
    DOUBLE_NODES = "double-nodes"
    OUTLINE = "outline"
    AREA_NEAR_EDGE = "area-near-edge"
    THIN_NECK = "thin-neck"
    TINY_HOLE = "tiny-hole"
    SHARP_TIP = "sharp-tip"
    MENDED = "mended"
    LEFT_OUT = "left-out"
    NO_ROOM = "no-room"
    LOOSE_CREASE = "loose-crease"
    FOLDS_ASSUMED = "folds-assumed"
    LEVEL_PANEL = "level-panel"
    HIDDEN_WORDS = "hidden-words"
    FACES_UNSAID = "faces-unsaid"
    CREASES_AT_ODDS = "creases-at-odds"
    PANELS_CROSS = "panels-cross"
    PIECE_IN_BLEED = "piece-in-bleed"
    PIECE_LEFT_OUT = "piece-left-out"
    WORDLESS_PIECE = "wordless-piece"
    NARROW_MARGIN = "narrow-margin"
    NARROW_BLEED = "narrow-bleed"
    BLEED_MISSING = "bleed-missing"
    PAPER_EDGE = "paper-edge"
    EDGE_EXTENDED = "edge-extended"
    NO_LINE_ART = "no-line-art"
    ARTWORK_PLACED = "artwork-placed"
    ARTWORK_LEFT_OUT = "artwork-left-out"
    COARSE_ARTWORK = "coarse-artwork"
    COARSE_PARTS = "coarse-parts"
    OUTLINE_TRACED = "outline-traced"
    SPECKS_DROPPED = "specks-dropped"
    DRAWING_NOT_PRINTED = "drawing-not-printed"
    ARTWORK_AS_PICTURE = "artwork-as-picture"
    ARTWORK_FONTS = "artwork-fonts"
    ARTWORK_FONT_MISSING = "artwork-font-missing"
    ARTWORK_LETTER_MISSING = "artwork-letter-missing"
    INKED_GLUE = "inked-glue"
    DARK_CREASE = "dark-crease"
    COLOUR_EDGE_ON_CREASE = "colour-edge-on-crease"
    MIRRORED = "mirrored"
    PRINTED_ASKEW = "printed-askew"
    CUT_FACE_DOWN = "cut-face-down"
    CUT_ALREADY = "cut-already"
    UNLIKE_ITS_LABEL = "unlike-its-label"
    LABEL_IN_MARGIN = "label-in-margin"
    MARK_IN_MARGIN = "mark-in-margin"
    BACK_NOT_PRINTED = "back-not-printed"
    TURNED_OVER = "turned-over"
    WORDS_INSIDE_FOLD = "words-inside-fold"
    BACKING = "backing"
    SHARED_SHEETS = "shared-sheets"
    CUT_BY_HAND = "cut-by-hand"
    KNIFE_NEEDED = "knife-needed"
    NOT_BY_HAND = "not-by-hand"
    NARROW_HIDDEN_BLEED = "narrow-hidden-bleed"
    SAFE_DISTANCE = "safe-distance"
    SHOP_BLEED = "shop-bleed"
    SHOP_PICTURES = "shop-pictures"
    SHOP_SPACING = "shop-spacing"
    SMALL_TEXT_IN_SEVERAL_INKS = "small-text-in-several-inks"
    NO_OUTPUT_INTENT = "no-output-intent"
    DIE_LINE_INK = "die-line-ink"
    TOTAL_INK = "total-ink"
    INK_NOT_KNOWN = "ink-not-known"
    CARE_FOOD = "care-food"
    CARE_CHILDREN = "care-children"
    CARE_FLAME = "care-flame"
    CARE_ALLERGEN = "care-allergen"
    CARE_STICK = "care-stick"
    ADDED = "added"
    CHANGED_WORDS = "changed-words"
    CHANGED_LOOK = "changed-look"
    GONE = "gone"


SUBJECTS = {
    "type": "Words in their panels",
    "list": "The list",
    "workbook": "Cells of a workbook",
    "choice": "What a row chooses",
    "drawing": "The drawing",
    "fold": "Folds",
    "paper": "Ink, folds and the blade",
    "shop": "For a print shop",
    "care": "Care",
    "changes": "Since an earlier report",
}
"""Parts of docs/findings.md, in their order."""


@dataclass(frozen=True, slots=True)
class About:
    """What is known of a rule."""

    subject: str
    """One of `SUBJECTS`."""
    severities: tuple[str, ...]
    """What it may weigh: "error", "warning" or "note", as the page has them."""
    means: str
    do: str
    source: str
    """Where the rule's figure comes from; empty where nothing is measured."""


@lru_cache(maxsize=1)
def catalogue() -> Mapping[Rule, About]:
    """Give what is known of every rule, in the order of `Rule`."""
    text = files("personalize").joinpath("rules.toml").read_text("utf-8")
    read = tomllib.loads(text)
    if set(read) != set(Rule):
        apart = ", ".join(sorted(set(read) ^ set(Rule)))
        raise ValueError(f"rules.toml and Rule differ: {apart}")
    return {
        rule: About(
            read[rule]["subject"],
            tuple(read[rule]["severity"].split(" or ")),
            read[rule]["means"],
            read[rule]["do"],
            read[rule].get("source", ""),
        )
        for rule in Rule
    }


def about(rule: Rule) -> About:
    """Give what is known of one rule."""
    return catalogue()[rule]

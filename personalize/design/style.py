"""How words look: colour, rim and type."""

from dataclasses import dataclass

from personalize.fonts.catalogue import Font
from personalize.units import PT_PER_MM


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour of ink, as red, green and blue from 0 to 1."""

    red: float
    green: float
    blue: float

    @property
    def css(self) -> str:
        """The colour as #rrggbb."""
        parts = (round(v * 255) for v in (self.red, self.green, self.blue))
        return "#" + "".join(f"{v:02x}" for v in parts)

    @property
    def is_light(self) -> bool:
        """Whether words in it are light ones on dark artwork. Judgement."""
        return self.luminance > 0.5

    @property
    def opposite(self) -> "Colour":
        """White for a dark colour, black for a light one."""
        return Colour(0.0, 0.0, 0.0) if self.is_light else Colour(1.0, 1.0, 1.0)

    @property
    def luminance(self) -> float:
        """Relative luminance (WCAG 2.2, "relative luminance")."""
        linear = [
            v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4
            for v in (self.red, self.green, self.blue)
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@dataclass(frozen=True, slots=True)
class Rim:
    """What is printed round the letters, or under them, so that they stand out."""

    kind: str
    """"line": round each letter; "soft": one rounded shape under the words."""
    mm: float
    """How far it reaches past the ink."""
    colour: Colour | None = None
    """None: white for dark words, black for light ones."""


LEAST_X_HEIGHT_MM, SMALL_X_HEIGHT_MM = 1.2, 0.9
SMALL_PACKAGE_CM2 = 80.0
"""Regulation (EU) 1169/2011, article 13(2) and (3), annex IV."""


@dataclass(frozen=True, slots=True)
class TypeStyle:
    """How the text of a panel is to be set."""

    font: Font
    colour: Colour
    sizes: str = "steps"
    max_pt: float = 72.0
    min_pt: float = 7.0
    reversed_min_pt: float = 10.0
    """Least size where the colour is a light one, as on dark artwork."""
    script_min_pt: float = 12.0
    """Least size of a script face. Common practice, no source."""
    max_lines: int = 5
    width_share: float = 0.92
    align: str = "centre"
    language: str = ""
    direction: str = "auto"
    """"ltr", "rtl", or "auto": that of the first strong letter of each text."""
    case: str = "as-typed"
    """"upper", "lower" or "as-typed"."""
    features: tuple[tuple[str, int], ...] = ()
    """OpenType features by tag, with their values (0 is off)."""
    letter_spacing_em: float = 0.0
    hyphenate: bool = False
    rim: Rim | None = None

    size_group: str = ""
    """Panels and blocks of one name share their sizes."""
    read_from_m: float | None = None
    """Distance that the words are read from; None for the hand."""
    script_face: bool | None = None
    """Whether the font is a script, by the maker; None for what the font itself says."""
    allergen: bool = False
    """Whether the words tell of allergens: what is hard to read is an error."""
    package_cm2: float | None = None
    """Largest surface of the food's package, if it is known to be small."""

    def floor_pt(self, colour: Colour) -> float:
        """Least size in points for words in a colour: by the size alone, and the x-height.

        The x-height is that of Regulation (EU) 1169/2011, article 13(2), and 13(3) for
        small packages; taken as the floor of anything read in the hand.
        """
        script = self.font.is_script if self.script_face is None else self.script_face
        least = self.reversed_min_pt if colour.is_light else self.min_pt
        least_mm = SMALL_X_HEIGHT_MM if self.is_small_package else LEAST_X_HEIGHT_MM
        by_letters = least_mm * PT_PER_MM / self.font.face.x_height
        return max(least, by_letters, self.script_min_pt if script else 0.0)

    @property
    def is_small_package(self) -> bool:
        """Whether the lower x-height of small packages holds."""
        return self.package_cm2 is not None and self.package_cm2 < SMALL_PACKAGE_CM2

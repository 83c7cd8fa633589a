"""Names of months and days in the languages that a format code can ask for.

Full names only: short ones differ between programs and their versions (Mrz, Mär, März).
"""

from dataclasses import dataclass

from personalize.messages.seen import UnseenError

_NOON = 12


@dataclass(frozen=True, slots=True)
class Names:
    """The names of one language."""

    months: tuple[str, ...]
    days: tuple[str, ...]
    """From Sunday."""
    short: bool = False
    """Whether the first three letters are its short names, and AM and PM its halves."""

    def name(self, unit: str, month: int, weekday: int, hour: int) -> str:
        """Give the name that a part of a format code, such as ``mmmm``, stands for.

        Raises
        ------
        UnseenError
            Programs disagree about it.
        """
        if unit == "mmmm":
            return self.months[month - 1]
        if unit == "mmmmm":
            return self.months[month - 1][0]
        if unit == "dddd":
            return self.days[weekday]
        if not self.short:
            raise UnseenError(
                f"has the part {unit!r}, whose short names differ in programs"
            )
        if unit == "AM/PM":
            return "AM" if hour < _NOON else "PM"
        return (self.months[month - 1] if unit == "mmm" else self.days[weekday])[:3]


def _names(months: str, days: str, *, short: bool = False) -> Names:
    return Names(tuple(months.split()), tuple(days.split()), short)


# Written from memory; tests compare all of them with those of LibreOffice 7.4.
_ENGLISH = _names(
    "January February March April May June July August September October November December",
    "Sunday Monday Tuesday Wednesday Thursday Friday Saturday",
    short=True,
)
_GERMAN = _names(
    "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "Sonntag Montag Dienstag Mittwoch Donnerstag Freitag Samstag",
)
_FRENCH = _names(
    "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "dimanche lundi mardi mercredi jeudi vendredi samedi",
)
_SPANISH = _names(
    "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre "
    "diciembre",
    "domingo lunes martes miércoles jueves viernes sábado",
)
_ITALIAN = _names(
    "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre "
    "dicembre",
    "domenica lunedì martedì mercoledì giovedì venerdì sabato",
)
_DUTCH = _names(
    "januari februari maart april mei juni juli augustus september oktober november "
    "december",
    "zondag maandag dinsdag woensdag donderdag vrijdag zaterdag",
)
_PORTUGUESE = _names(
    "janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro "
    "dezembro",
    "domingo segunda-feira terça-feira quarta-feira quinta-feira sexta-feira sábado",
)

# Numbers as in [MS-LCID]. Countries that have names of their own (Jänner in Austria,
# setiembre in Peru) are not among them, and neither is Polish, whose months have a case.
_BY_LANGUAGE = {
    **dict.fromkeys(("407", "807", "de", "de-de", "de-ch"), _GERMAN),
    **dict.fromkeys(
        ("40c", "80c", "c0c", "100c", "fr", "fr-fr", "fr-be", "fr-ca"), _FRENCH
    ),
    **dict.fromkeys(("40a", "c0a", "80a", "es", "es-es", "es-mx"), _SPANISH),
    **dict.fromkeys(("410", "810", "it", "it-it", "it-ch"), _ITALIAN),
    **dict.fromkeys(("413", "813", "nl", "nl-nl", "nl-be"), _DUTCH),
    **dict.fromkeys(("416", "816", "pt", "pt-br", "pt-pt"), _PORTUGUESE),
}
_ENGLISH_NUMBERS = {"409", "809", "c09", "1009", "1409", "1809", "2009", "1c09", "4009"}


# What a slash in a date stands for: the sign of the language (common practice, no source;
# written from memory, and compared by tests with LibreOffice 7.4, which writes the point of
# a German date so).
_SLASHES = {
    **dict.fromkeys(("407", "807", "de", "de-de", "de-ch", "100c", "810", "it-ch"), "."),
    **dict.fromkeys(("413", "nl", "nl-nl", "c0c", "fr-ca"), "-"),
    **dict.fromkeys(("40c", "80c", "fr", "fr-fr", "fr-be", "813", "nl-be"), "/"),
    **dict.fromkeys(
        ("40a", "c0a", "80a", "es", "es-es", "es-mx", "410", "it", "it-it"), "/"
    ),
    **dict.fromkeys(("416", "pt-br"), "/"),
    **dict.fromkeys(("409", "809", "c09", "en", "en-us", "en-gb", "en-au"), "/"),
}
"""Portugal is not among them: LibreOffice takes a hyphen, others a slash."""


def slash_for(language: str | None) -> str:
    """Give the sign that a slash stands for in dates of a language.

    Raises
    ------
    UnseenError
        It is not known here.
    """
    if language is None:
        return "/"
    if language not in _SLASHES:
        raise UnseenError(f"has a slash, which stands for a sign of {language!r}")
    return _SLASHES[language]


def names_for(language: str | None) -> Names:
    """Give the names of a language, as a format code calls it; None is English.

    Raises
    ------
    UnseenError
        They are not known here.

    >>> names_for("407").months[2], names_for(None).days[0]
    ('März', 'Sunday')
    """
    if language is None or language == "en" or language in _ENGLISH_NUMBERS:
        return _ENGLISH
    if language.startswith("en-"):
        return _ENGLISH
    if language not in _BY_LANGUAGE:
        raise UnseenError(f"asks for the names of the language {language!r}")
    return _BY_LANGUAGE[language]

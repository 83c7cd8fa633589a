"""How likely a letter is in a language: the evidence for an older encoding.

The alphabets are those of Unicode CLDR (exemplar characters). In which order their letters
are common, and how many letters of a text are beyond ASCII, is our judgement from counts
over the country, language and month names of CLDR and from common practice: it only has
to tell Polish from French.
"""

import unicodedata
from functools import cache

import numpy as np
from numpy.typing import NDArray

Logs = NDArray[np.float64]

# Language: (weight among guest lists, share of letters beyond ASCII, those letters with
# the commonest first). All of these figures are judgement.
_LANGUAGES: dict[str, tuple[float, float, str]] = {
    "any Latin": (0.06, 0.002, "éöüáèíóñçëäïúàøåôâêãõæîìòùûýßðþœžšÿčřńłśżęąěůőűăşığ"),
    "German": (0.15, 0.017, "üäößéë"),
    "French": (0.12, 0.04, "éèàêçôâîûùëïœüæÿ"),
    "Spanish": (0.08, 0.025, "íóáéñúüªº"),
    "Portuguese": (0.06, 0.045, "ãáçéíóêâúõôàòªº"),
    "Italian": (0.05, 0.012, "àèùòìéîó"),
    "Dutch": (0.04, 0.004, "ëïéöüèáóíúä"),
    "Swedish": (0.04, 0.05, "äåöéüàæø"),
    "Danish": (0.03, 0.03, "øåæéöü"),
    "Finnish": (0.03, 0.06, "äöåšž"),
    "Icelandic": (0.004, 0.11, "áíðéóæöþýú"),
    "Faroese": (0.001, 0.09, "áíðóøúýæ"),
    "Catalan": (0.01, 0.025, "àéóèíçòúïü"),
    "Irish": (0.01, 0.05, "áíéóú"),
    "Estonian": (0.006, 0.07, "äõüöšž"),
    "Polish": (0.06, 0.07, "łóąśężćńź"),
    "Czech": (0.04, 0.14, "áíčěřéýšžůňúťďó"),
    "Slovak": (0.02, 0.13, "áčíéžšýúľôňťäďóĺŕ"),
    "Hungarian": (0.03, 0.11, "áéóöíőüúű"),
    "Romanian": (0.03, 0.06, "ăâîșțşţ"),
    "Croatian": (0.02, 0.05, "ćčšžđ"),
    "Slovenian": (0.01, 0.035, "čšžć"),
    "Albanian": (0.005, 0.07, "ëç"),
    "Lithuanian": (0.008, 0.07, "ėšūžčįųąę"),
    "Latvian": (0.008, 0.12, "āīšēņūžļčķģ"),
    "Turkish": (0.04, 0.11, "ıüşçöğâîû"),
    "Russian": (0.08, 1, "оеаинтсрвлкмдпуяызьбгчйхжюшцщэфёъ"),
    "Ukrainian": (0.03, 1, "оаинвіретсклдумпяьзбгйчхжїшюєцфщґ"),
    "Bulgarian": (0.015, 1, "аоеитнрсвлкдпмзбъгучяцжшхйфщюь"),
    "Serbian": (0.01, 1, "аиоенрсјтувдкмлпгзбчшцхњжћљђџф"),
    "Belarusian": (0.005, 1, "анісрекводтлпямучызбгьшйўэцхжюёф"),
    "Macedonian": (0.004, 1, "аоиетнрсвлкдпмзујбгцчшжхфќњѓџљѕ"),
    "Greek": (0.03, 1, "αοιετσνηυρπκμλςωάίόγέδήχθύφβώξζψϊϋΐΰ"),
    "Hebrew": (0.03, 1, "יוהלארתבשמנחדפקצעכגטזסםןךףץ"),
    "Arabic": (0.03, 1, "اليمونربتةدسعفحكقجهأشصىخطضذزثغظءئإؤآ"),
    "Persian": (0.015, 1, "ایيندرهومتسبکكگشلخقپفحزعجصچژآئطضظثغذء"),
    "Thai": (0.01, 1, "านรอกเ่งมยลวดท้สตะปบคหแจพชใขโไีิัุู์ำ็ึืผธศซณญฐฟภษถฉฝฮฌฎฏฑฒฆฬฤๆ"),
}
WEIGHTS: Logs = np.log([weight for weight, _, _ in _LANGUAGES.values()])
_HOMES = {
    "west": "German French Spanish Portuguese Italian Dutch Swedish Danish Finnish "
    "Icelandic Faroese Catalan Irish Estonian Albanian",
    "central": "Polish Czech Slovak Hungarian Romanian Croatian Slovenian Albanian",
    "baltic": "Estonian Lithuanian Latvian",
    "turkish": "Turkish",
}
"""Languages with Latin letters, by the tables that were made for them."""
_AWAY = 0.1
"""How much rarer a language is in a table made for others. Judgement."""

_FOREIGN = np.log(1e-6)
"""A letter that the language has not, in its own script: a guest from abroad."""
_OTHER_SCRIPT = np.log(1e-8)
_SCRIPTS = ("LATIN", "CYRILLIC", "GREEK", "HEBREW", "ARABIC", "THAI")
_LAST_GRAVE = float(np.log(3))
"""A grave accent mostly stands on a last vowel (Italian, Catalan, French). Judgement."""
_WITH_VOWELS = ("LATIN", "CYRILLIC", "GREEK")
_VOWELS = frozenset("aeiouyæœøåıаеёиіоуыэюяїєαεηιουω")
_COMMON_LEADS = {
    "gb18030": (0xB0, 0xD7),
    "big5": (0xA4, 0xC6),
    "cp932": (0x88, 0x97),
    "euc_jp": (0xB0, 0xCF),
    "cp949": (0xB0, 0xC8),
}
WIDE = tuple(_COMMON_LEADS)
# How a sign's name starts, and how likely one of them is in the common block or outside.
_WIDE_KINDS = (
    ("CJK UNIFIED", 3e-4, 3e-6),
    ("HANGUL", 6e-4, 3e-6),
    ("HIRAGANA", 5e-3, 5e-3),
    ("KATAKANA", 5e-3, 5e-3),
    ("FULLWIDTH", 1e-4, 1e-4),
    ("IDEOGRAPHIC", 1e-3, 1e-3),
    ("HALFWIDTH", 1e-5, 1e-5),
)
# Beside a vowel, a consonant, and no letter: words go by turns of vowels and consonants.
_VOWEL_BESIDE = np.log([0.35, 1, 0.6])
_CONSONANT_BESIDE = np.log([1, 0.2, 0.6])


@cache
def away_logs(home: str) -> Logs:
    """Give the log of how much rarer each language is in a table made for some of them."""
    here = _HOMES.get(home, "").split()
    away = {name for names in _HOMES.values() for name in names.split()}.difference(here)
    return np.log([_AWAY if name in away else 1 for name in _LANGUAGES])


@cache
def letter_logs(letter: str) -> Logs:
    """Give the log of the likelihood of a small letter in each language."""
    script = script_of(letter)
    return np.array([_log(letter, script, name) for name in _LANGUAGES])


@cache
def script_of(letter: str) -> str:
    """Name the script of a letter by the first word of its Unicode name."""
    first = unicodedata.name(letter, "?").partition(" ")[0]
    return first if first in _SCRIPTS else "OTHER"


def turn_log(before: str, letter: str, after: str) -> float:
    """Give the log of how well a small letter suits its neighbours, vowel by consonant."""
    if script_of(letter) not in _WITH_VOWELS:
        return 0.0
    table = _VOWEL_BESIDE if _is_vowel(letter) else _CONSONANT_BESIDE
    last = letter in "àèìòù" and before.isalpha() and not after.isalpha()
    return float(table[_kind(before)] + table[_kind(after)]) + last * _LAST_GRAVE


def _log(letter: str, script: str, language: str) -> float:
    _, share, letters = _LANGUAGES[language]
    at = letters.find(letter)
    if at < 0:
        own = script_of(letters[0]) == script
        return float(_FOREIGN if own else _OTHER_SCRIPT)
    total = sum(1 / (i + 1) for i in range(len(letters)))
    return float(np.log(share / (at + 1) / total))


def wide_log(sign: str, encoding: str) -> float:
    """Give the log of the likelihood of a sign in a Chinese, Japanese or Korean encoding.

    Each of their character sets puts the common signs, some two to five thousand, in a
    block of their own: GB 2312 level 1, Big5 level 1, JIS X 0208 level 1, KS X 1001.
    """
    if sign < "\x80":
        return 0.0
    lead, trail = (*sign.encode(encoding), 0)[:2]
    first, last = _COMMON_LEADS[encoding]
    common = first <= lead <= last and (trail >= 0xA1 or encoding in ("big5", "cp932"))
    name = unicodedata.name(sign, "?")
    for start, likely, rare in _WIDE_KINDS:
        if name.startswith(start):
            return float(np.log(likely if common else rare))
    return float(_OTHER_SCRIPT)


@cache
def _is_vowel(letter: str) -> bool:
    return unicodedata.normalize("NFD", letter)[:1] in _VOWELS


def _kind(neighbour: str) -> int:
    if not neighbour.isalpha():
        return 2
    return 0 if _is_vowel(neighbour) else 1

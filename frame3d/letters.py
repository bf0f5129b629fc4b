"""What stands for letters that a terminal must not see, and for those that no font can draw."""

import unicodedata
import zlib
from collections.abc import Callable

# Without a mark of their own, but words need them: the two joiners, as in Persian and in emoji that
# are put together from several (Unicode Standard, 23.2), and the tags of regional flags (23.9).
JOINERS = frozenset(map(chr, (0x200C, 0x200D, *range(0xE0020, 0xE0080))))
MOST_LETTERS = 1_000  # of a message: well within a screen of 80 by 24
NOT_JOINED = "\u200c"  # keeps two Arabic letters apart; it is not seen
# Unicode Technical Standard no. 51: emoji modifiers, Fitzpatrick types 1-2 to 6.
SKIN_TONES = "".join(map(chr, range(0x1F3FB, 0x1F400)))

SCRIPTS = {"cjk": "ideographs"}  # the first words of Unicode names, where they are no plain ones


def message(text: str) -> str:
    """`text` as one that a terminal shows and does not obey, no longer than a screen: control
    characters and bidirectional marks are written as in TOML, "\\u001B"."""
    if len(text) > MOST_LETTERS:
        text = f"{text[: 2 * MOST_LETTERS // 3]} ... {text[-MOST_LETTERS // 3 :]}"
    return "".join(c if c.isprintable() or c in JOINERS else _escape(ord(c)) for c in text)


def _escape(code: int) -> str:
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"


def spelled(text: str, drawable: Callable[[str], bool]) -> str:
    """`text` as fonts that draw those letters can, accents joined to what they stand on.

    Of an emoji that is put together from several, each part is drawn by itself (a family as its
    people, a flag as its letters), without the marks that join and tint them. A symbol that no font
    has becomes its Unicode name, "[bicycle]". Letters that follow each other and that none has
    become one word, their script's name, with a number by which two such names are told apart:
    "[thai 274]".
    """
    found, lacking = [], ""
    for letter in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(letter)
        if letter in SKIN_TONES or (kind in ("Cf", "Cs") and letter != NOT_JOINED):
            continue
        if kind in ("Mn", "Me"):
            lacking += letter if lacking else ""
            continue
        if kind[0] in "LMN" and not drawable(letter):
            lacking += letter
            continue
        found += [_word(lacking), _drawn(letter, kind, drawable)]
        lacking = ""
    return "".join((*found, _word(lacking)))


def _word(lacking: str) -> str:
    """One plain word for letters that cannot be drawn; nothing for none."""
    if not lacking:
        return ""
    script = unicodedata.name(lacking[0], "letters").split()[0].lower()
    number = zlib.crc32(lacking.encode()) % 1000
    return f"[{SCRIPTS.get(script, script)} {number:03}]"


def _drawn(letter: str, kind: str, drawable: Callable[[str], bool]) -> str:
    if kind == "Cc":
        return " "
    if drawable(letter):
        return letter
    return f"[{unicodedata.name(letter, f'U+{ord(letter):04X}').lower()}]"

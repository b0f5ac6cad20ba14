"""In which encoding a text is written: by its marks, by its letters, by the everyday characters of East Asia.

Bytes above ASCII are other letters in each of Windows' code pages. The letters of a language are few, and a text of one language
has no other: what one language of Western Europe explains is Windows-1252, what only one of Central Europe does
Windows-1250, what only Turkish does Windows-1254. It misleads where a text is of several languages, or has one such letter.
"""

from __future__ import annotations

import itertools
import re

#: Language → its code page and the letters it has beside ASCII; those of the West first, Icelandic behind Turkish.
_LANGUAGES: tuple[tuple[str, str, str], ...] = (
    ("de", "cp1252", "äöüßéèà"),
    ("fr", "cp1252", "àâçéèêëîïôœùûüÿæ"),
    ("es", "cp1252", "áéíñóúü"),
    ("pt", "cp1252", "ãáâàçéêíóôõúü"),
    ("it", "cp1252", "àèéìòùó"),
    ("sv, da, no", "cp1252", "åäöæøéü"),
    ("nl", "cp1252", "éëïöüèê"),
    ("tr", "cp1254", "çğıöşüâîûİ"),
    ("is", "cp1252", "áðéíóúýþæö"),
    ("cs", "cp1250", "áčďéěíňóřšťúůýž"),
    ("sk", "cp1250", "áäčďéíĺľňóôŕšťúýž"),
    ("pl", "cp1250", "ąćęłńóśźż"),
    ("hu", "cp1250", "áéíóöőúüű"),
    ("hr, sl", "cp1250", "čćđšž"),
    ("ro", "cp1250", "ăâîşţ"),
)
#: Signs in texts of every language, where they are separate from letters.
_SIGNS = frozenset("µ°²³±·×÷§©®™–—„“”’‘…€¼½¾ªº«»‰\u00a0\u00ad")
#: A sign within a word, a superscript before a letter, œ and õ where French and Portuguese have none.
_FOREIGN = re.compile(r"[²³¹ªº](?=[^\W\d_])|œ(?![uiets])|õ(?!e)")
_WITHIN = re.compile(r"[^\W\d_]ø[^\W\d_]")
_CAPITAL_INSIDE = re.compile(r"[a-zß-ÿ][À-ÖØ-ÞŠŽŁŚŻŹĆĄĘŃŘŤĎŇČĚŮŐŰ]")


def by_letters(raw: bytes) -> str | None:
    """Tell the code page by the letters of one language; None where no language has all of them.

    Parameters
    ----------
    raw : bytes
        Text that is no UTF-8.

    Returns
    -------
    str or None
        ``cp1252``, ``cp1250`` or ``cp1254``.

    Examples
    --------
    >>> by_letters("Měření 1;Měření 2".encode("cp1250")), by_letters("Höhe [µm]".encode("cp1252"))
    ('cp1250', 'cp1252')
    """
    sample = raw[:200_000]
    for _, page, letters in _LANGUAGES:
        try:
            text = sample.decode(page)
        except UnicodeDecodeError:
            continue
        foreign = {sign for sign in set(text) if ord(sign) > 127} - _SIGNS
        # A diameter is a sign, and stands in no word.
        if "ø" not in letters and _WITHIN.search(text.lower()):
            continue
        bare = foreign if "ø" in letters else foreign - {"Ø", "ø"}
        if not bare or any(sign.lower() not in letters and sign not in letters for sign in bare):
            continue
        if _FOREIGN.search(text.lower()) or _CAPITAL_INSIDE.search(text):
            continue
        places = [at for at, sign in enumerate(text[:20_000]) if sign in bare]
        if sum(_beside_ascii(text, at) for at in places) >= 0.5 * max(len(places), 1):
            return page
    return None


def _beside_ascii(text: str, at: int) -> bool:
    """Check whether a letter has an ASCII letter beside it; East Asian and Russian words have none."""
    return any(sign.isascii() and sign.isalpha() for sign in text[max(at - 1, 0) : at + 2])


def encoding_of(raw: bytes) -> str:
    """Tell the encoding by byte-order mark, by zero bytes (UTF-16 without mark), else UTF-8, East Asian, cp1250, cp1251, cp1254 or cp1252."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    sample = raw[:4000]
    if len(sample) >= 8 and len(sample) % 2 == 0:
        even, odd = sample[0::2].count(0), sample[1::2].count(0)
        if odd > 0.4 * len(sample) / 2 and even == 0:
            return "utf-16-le"
        if even > 0.4 * len(sample) / 2 and odd == 0:
            return "utf-16-be"
    try:
        if not raw.isascii():
            raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        if _of_dos(raw):
            return "cp850"
        other = by_letters(raw) or _eastern(raw) or _of_middle_and_east(raw)
        if other is not None:
            return other
        # Windows-1252 leaves five bytes undefined; Latin-1 has all.
        return "cp1252" if not set(raw) & {0x81, 0x8D, 0x8F, 0x90, 0x9D} else "latin-1"
    return "utf-8-sig"


#: Kana and the ideographs of Unicode's first block, with the marks and full-width signs used beside them.
_KANA = re.compile("[\u3041-\u30fc]")
_IDEOGRAPH = re.compile("[\u4e00-\u9fff]")
_BESIDE = re.compile(
    "[\u3000-\u303f\uff01-\uff5e\u2103\u00d7\u00b1\u2460-\u2473\u03a6\u03c6\u03bc\u25a0-\u25cf]"
)
#: Korean words of exports.
_KOREAN = re.compile(
    "순번|번호|시간|일시|일자|날짜|측정|판정|합격|불량|양호|높이|길이|두께|시료|작업자|검사|평균|결과|품번|부품|설비|금형|공정|치수"
)
#: Letters of Central Europe among those of the West, where Windows-1252 would read a sign that no word there has: ³ or ¿
#: before a letter, ì or ù within a word, õ beside ö or ü, č or ř beside š or ž.
_CENTRAL = re.compile(
    rb"\xec\xf8|[\xe8\xf8][\xec\xed]|[A-Za-z\x9c\xea\xe6][\xb3\xb9\xbf\x9f][a-z\xea\xe6]|\x9c\xe6|[a-z][\xec\xf9][a-z]|[\x9a\x9e\x8a\x8e][^\n;,\t]*[\xe8\xec\xf8\xf9]"
    rb"|[\xe8\xec\xf8\xf9\xc8\xd8][^\n;,\t]*[\x9a\x9e]"
)
#: Letters of Turkish, Ğ, İ, Ş, ğ, ş and ı beside ç, ö or ü, where Windows-1252 would read those of Iceland; and vowels with an
#: accent, and letters of Central Europe, which no Turkish word has.
_TURKISH = re.compile(
    rb"[A-Za-z\xe7\xf6\xfc\xfd][\xf0\xfe]|[\xf0\xfe][a-z\xfc\xfd]|[\xdd\xde][a-z]|\xfd[^\n]*[\xe7\xf6\xfc\xc7\xd6\xdc]"
    rb"|[\xe7\xf6\xfc\xc7\xd6\xdc][^\n]*\xfd"
)
_NOT_TURKISH = re.compile(rb"[\xe0\xe1\xe6\xe8\xe9\xec\xed\xf2\xf3\xf8-\xfa\x8a\x8e\x9a\x9e]")


#: A letter of the code pages of DOS within a word, where Windows has quotes, daggers and an empty place: Höhe, Stück, série.
_DOS_LETTER = re.compile(rb"[A-Za-z][\x81\x82\x84\x87\x88\x94][A-Za-z]")
#: What else above ASCII a text of these code pages holds: ä ö ü é è ê ç à â î ô û ù, their capitals, ß, µ, °, ±, ², ·, Ø.
_DOS = frozenset(
    b"\x80\x81\x82\x83\x84\x85\x87\x88\x89\x8a\x8b\x8c\x8e\x90\x93\x94\x96\x97\x99\x9a\x9b\x9d\xe1\xe6\xf1\xf8\xfa\xfd"
)
#: A word of Russian with a capital where Windows-1251 would begin it small and go on in capitals.
_KOI8_WORD = re.compile(rb"(?<![\xc0-\xff])[\xe0-\xff][\xc0-\xdf]{2,}(?![\xc0-\xff])")
_CP1251_WORD = re.compile(rb"(?<![\xc0-\xff])[\xc0-\xdf][\xe0-\xff]{2,}(?![\xc0-\xff])")


_WIDE_DIGIT = re.compile(rb"\x82[\x4f-\x58](?![a-z])")


def _of_dos(raw: bytes) -> bool:
    """Check whether a text of Western Europe is in a code page of DOS, 850 or 437, which share these letters."""
    sample = raw[:200_000]
    high = {byte for byte in sample if byte > 127}
    if not high <= _DOS or _DOS_LETTER.search(sample) is None:
        return False
    # A digit of a Japanese keyboard has the bytes of "é" before a capital: éQ is the digit two.
    return len(_WIDE_DIGIT.findall(sample)) < 4


#: A word of at least three letters of which none is plain.
_HIGH_WORD = re.compile(rb"(?<![A-Za-z\x80-\xff])[\xc0-\xff]{3,}(?![A-Za-z\x80-\xff])")


def _all_koi8(sample: bytes) -> bool:
    return _CP1251_WORD.search(sample) is None


def _of_middle_and_east(raw: bytes) -> str | None:
    """Recognise Windows-1251 by runs of high letters, Windows-1250 and 1254 by their own; else None."""
    sample = raw[:200_000]
    high = [at for at, byte in enumerate(sample[:20_000]) if byte >= 0xC0]
    # Да and нет are words of high letters alone; those of the West have one here and there, and two in Größe.
    touched = {at for a, b in itertools.pairwise(high) if b - a == 1 for at in (a, b)}
    long_words = _HIGH_WORD.search(sample) is not None
    if len(high) >= 6 and long_words and len(touched) >= 0.8 * len(high):
        try:
            sample.decode("cp1251")
        except UnicodeDecodeError:
            return None
        return "koi8-r" if _KOI8_WORD.search(sample) and _all_koi8(sample) else "cp1251"
    if _TURKISH.search(sample) and not _NOT_TURKISH.search(sample):
        return "cp1254"
    hungarian = re.search(rb"[\xf5\xfb]", sample) and re.search(rb"[\xf6\xfc]", sample)
    if _CENTRAL.search(sample) or (hungarian and re.search(rb"[\xe1\xe9]", sample)):
        try:
            sample.decode("cp1250")
        except UnicodeDecodeError:
            return None
        return "cp1250"
    return None


#: Bytes that begin a character of everyday use: of Shift JIS (also half of Windows-1252's rare signs), of
#: GB 2312's first level, of Big5's frequent ones.
_LEADS = {"cp932": range(0x81, 0xA0), "gb18030": range(0xB0, 0xD8), "big5": range(0xA4, 0xC7)}


def _eastern(raw: bytes) -> str | None:
    """Shift JIS, EUC-JP, GB 18030 or Big5, where the bytes are its everyday characters; else None.

    Letters of Western Europe above ASCII are single, with plain letters behind them, so pairs whose second byte is
    above ASCII too are asked for; two everyday characters, nine of ten of all there are, are taken for it.
    """
    sample = raw[:200_000]
    sample = sample[: sample.rfind(b"\n") + 1] or sample
    for name in ("cp932", "euc_jp", "cp949", "gb18030", "big5"):
        try:
            text = sample.decode(name)
        except UnicodeDecodeError:
            continue
        foreign = [sign for sign in text if ord(sign) > 127]
        if name == "cp949":
            # Half of the Chinese everyday characters have the bytes of Korean syllables.
            hangul = sum("\uac00" <= sign <= "\ud7a3" for sign in foreign)
            if hangul >= 0.95 * len(foreign) and _KOREAN.search(text):
                return name
            continue
        words = [sign for sign in foreign if _IDEOGRAPH.match(sign) or _KANA.match(sign)]
        known = len(words) + sum(_BESIDE.match(sign) is not None for sign in foreign)
        if len(words) < 2 or known < 0.9 * len(foreign):
            continue
        if name == "euc_jp":
            kana = sum(_KANA.match(sign) is not None for sign in words)
            if kana >= max(1, 0.1 * len(words)):
                return name
            continue
        pairs = [sign.encode(name) for sign in words]
        firsts = sum(pair[0] in _LEADS[name] for pair in pairs)
        high = sum(pair[1] >= 0xA1 for pair in pairs)
        if firsts >= 0.6 * len(pairs) and high >= _HIGH[name] * len(pairs):
            return name
    return None


#: Least share of characters whose second byte is above ASCII, where the first may be a Western capital.
_HIGH = {"cp932": 0.0, "gb18030": 0.9, "big5": 0.3}

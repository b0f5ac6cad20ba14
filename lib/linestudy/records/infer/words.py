"""Words by which the exports of plants name their columns, in the languages they come in."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from linestudy.records.cells.limit_words import SAID_OF_LIMITS
from linestudy.records.units import without_unit

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Meaning → words, in lower case; a word of one token must be a token of the name, others may be anywhere in it.
WORDS: dict[str, tuple[str, ...]] = {
    "reference": (
        "reference", "ref", "ref value", "true", "true value", "master value", "master", "referenz", "referenzwert",
        "normal", "meisterteil", "soll", "wahr", "wahrer wert", "vrai", "étalon", "valeur de référence", "基准", "基准值", "标准值", "参考值",
        "基準", "基準値", "真値", "参照値", "referência", "referencia", "valor de referência", "valor de referencia", "référence", "facit", "facitværdi", "certified", "certified value", "certified size", "calibrated value", "kalibrierter wert", "zertifizierter wert", "valeur certifiée",
        "valor certificado", "valor calibrado", "valore certificato", "referenceværdi", "viitearvo", "referenčna vrednost", "referentna vrijednost", "τιμή αναφοράς", "wartość odniesienia", "wartość wzorca", "hodnota etalonu", "etalon", "referenčná hodnota", "referenciaérték", "valeur étalon", "valore di riferimento", "referentiewaarde", "referensvärde", "referans değer", "referans", "valoare de referință", "эталонное значение", "giá trị chuẩn", "riferimento", "referenční hodnota", "wzorzec", "эталон", "기준값",
    ),
    "appraiser": (
        "appraiser", "operator", "inspector", "measured by", "who", "prüfer", "pruefer", "bediener", "op",
        "opérateur", "operateur", "contrôleur", "检验员", "评价人", "操作员", "测量人", "測定者", "検査員", "作業者", "operador", "operatore", "avaliador", "inspetor", "operátor", "kontrolor", "оператор", "контролер", "작업자", "측정자", "검사자", "operatör", "keurder",
        "měřil", "meral", "mérő személy", "mérő", "ellenőr", "measurer", "gemeten door", "controleur", "mätare", "operatør", "kontrollør", "mittaaja", "tarkastaja", "operaattori", "merilec", "kontrolor", "mjeritelj", "χειριστής", "χειριστησ", "người đo", "người kiểm tra", "量測者", "檢驗員", "操作員", "evaluador",
    ),
    "trial": (
        "trial", "repeat", "replicate", "rep", "repetition", "wiederholung", "versuch", "durchgang", "essai",
        "répétition", "次数", "试验", "测量次数", "回数", "繰返し", "回", "prova", "repetição", "repetición", "ensayo", "ripetizione", "opakování", "pokus", "próba", "powtórzenie", "повтор", "попытка", "반복", "시행", "tekrar",
        "měření", "meranie", "opakovanie", "mérés", "ismétlés", "încercare", "repetare", "măsurare", "herhaling", "meting", "omgång", "upprepning", "réplica", "gentagelse", "gentakelse", "toisto", "ponovitev", "ponavljanje", "επανάληψη", "lần đo", "lần", "次數", "量測次數",
    ),
    "order": (
        "stroke", "strokes", "stroke no", "shot", "cycle", "hub", "hub nr", "hubzahl", "hubzähler", "zähler", "count",
        "counter", "coup", "sequence", "seq", "lfd", "lfd nr", "index", "序号", "冲次", "行程", "番号", "通番", "ショット", "golpe", "nº golpe", "ciclo", "contador", "colpo", "zdvih", "uderzenie", "uderzenia", "cykl", "удар", "순번", "번호", "타수", "vuruş", "slag", "sıra", "sıra no", "lp", "darbe", "vuruş no", "일련번호", "lfd no", "numer", "nr uderzenia", "sorszám", "löket", "löketszám", "nr crt", "volgnummer", "löpnummer", "slag nr", "poř č", "pořadí", "序號"),
    "part": (
        "part", "part no", "sample", "piece", "specimen", "serial", "sn", "teil", "teile nr", "teil nr", "prüfling",
        "muster", "seriennummer", "pièce", "piece no", "échantillon", "零件", "工件", "样品", "样件", "部品",
        "サンプル", "ワーク", "peça", "pieza", "pezzo", "díl", "kus", "część", "detal", "деталь", "образец", "시료", "부품", "제품", "parça",
        "diel", "alkatrész", "darab", "minta", "mintadarab", "piesă", "piesa", "reper", "mostră", "onderdeel", "stuk", "detalj", "provbit", "emne", "del", "kappale", "osa", "kos", "vzorec", "uzorak", "komad", "δείγμα", "τεμάχιο", "muestra", "mẫu", "樣品", "樣件", "工件編號",
    ),
    "number": ("block", "#", "no", "nr", "n", "number", "nummer", "id", "n°", "№", "numéro"),
    "time": (
        "time", "date", "timestamp", "clock", "zeit", "datum", "uhrzeit", "zeitstempel", "heure", "date heure",
        "时间", "日期", "日時", "時刻", "日付", "data", "hora", "data hora", "fecha", "ora", "čas", "datum a čas", "godzina", "czas", "время", "дата", "시간", "일시", "측정일시", "날짜", "zaman", "tarih", "tijd", "tid", "ts", "datetime", "date time", "epoch", "unix time", "tarih saat", "data i godzina", "idő", "dátum", "időpont", "dátum idő", "timp", "thời gian", "ngày", "ngày giờ", "時間", "日期時間"),
    "subgroup": ("subgroup", "sub", "subgrp", "group", "stichprobe", "untergruppe", "sample no", "échantillon no", "子组", "组号", "群", "組"),
    "job": (
        "job", "job no", "order no", "work order", "production order", "auftrag", "auftrags nr", "auftragsnummer",
        "fertigungsauftrag", "ordre", "of", "ordre de fabrication", "工单", "订单", "指図", "オーダー",
    ),
    "station": (
        "station", "cavity", "nest", "lane", "spur", "kavität", "kopf", "head", "seite", "side", "outlet", "empreinte",
        "工位", "型腔", "模穴", "キャビティ", "ステーション", "cavidade", "cavidad", "stazione", "cavità", "kavita", "stanice", "gniazdo", "гнездо", "станция", "캐비티", "스테이션", "göz", "gniazda"),
    "coil": (
        "coil", "reel", "bund", "ring", "lot", "batch", "charge", "bobine", "卷", "卷号", "批次", "批号", "コイル",
        "ロット", "bobina", "lote", "lotto", "svitek", "šarže", "krąg", "partia", "рулон", "партия", "코일", "로트",
    ),
    "verdict": (
        "verdict", "result", "judgement", "judgment", "ergebnis", "bewertung", "status", "urteil", "résultat", "decision",
        "判定", "结果", "評価", "结论", "situação", "resultado", "risultato", "esito", "hodnocení", "výsledek", "ocena", "wynik", "результат", "판정", "결과", "sonuç", "resultaat", "eredmény", "minősítés", "értékelés", "rezultat", "resultat", "bedömning", "hodnotenie", "kết quả", "đánh giá", "結果",
    ),
    "characteristic": (
        "characteristic", "feature", "dimension", "merkmal", "caractéristique", "cote", "ax", "axis", "achse", "特性", "项目", "尺寸", "項目",
        "寸法", "característica", "caratteristica", "cota", "znak", "rozměr", "wymiar", "cecha", "параметр", "размер", "항목", "특성", "치수", "prüfmerkmal", "messmerkmal", "qualitätsmerkmal", "messgröße", "özellik", "检测项目", "测量项目", "検査項目", "feature name"),
    "value": (
        "value", "actual", "measured", "meas", "gemessen", "mesuré", "reading", "istwert", "ist", "istmaß", "istmass", "messwert", "valeur", "mesure", "实测值", "测量值",
        "測定値", "実測値", "medido", "valor medido", "misura", "naměřeno", "naměřená hodnota", "pomiar", "zmierzone", "измерено", "측정값", "실측값", "wartość", "değer", "valor", "valore", "wert", "값", "数值", "数値", "mért érték", "érték", "valoare", "valoare măsurată", "meetwaarde", "gemeten", "mätvärde", "uppmätt", "måling", "måleværdi", "mittaus", "mittaustulos", "meritev", "izmjereno", "τιμή", "μέτρηση", "giá trị", "實測值", "量測值", "nameraná hodnota"),
    "accepted": ("accepted", "good", "ok", "gut", "gutteil", "gutteile", "io", "i o", "in ordnung", "conform", "conforme", "bons", "合格", "合格数", "良品", "良品数", "jó", "jó db", "bune", "goede", "godkända", "godkänd", "vyhovuje", "zgodny", "uygun", "годен", "buono", "aprovado", "goedgekeurd", "đạt", "合格數"),
    "rejected": (
        "rejected", "bad", "nok", "ng", "scrap", "ausschuss", "nio", "n i o", "schlecht", "rebuts", "不合格", "不合格数",
        "不良", "不良数", "selejt", "rebuturi", "afkeur", "kasserade", "không đạt", "不合格數",
    ),
    "purged": ("purged", "purge", "ausgeschleust"),
    "period": ("period", "shift", "day", "week", "schicht", "tag", "woche", "équipe", "jour", "班次", "シフト"),
    "strip": ("strip", "specimen", "streifen", "probe", "bande", "试样", "試料"),
    "stop": ("stop", "stillstand", "arrêt", "停机", "停止"),
    **SAID_OF_LIMITS,
    "special": ("special", "sc", "cc", "key", "class", "critical", "bm", "besonderes merkmal", "spécial", "zvláštní", "specjalna", "speciale", "especial", "különleges", "özel", "特殊", "重要度", "特殊特性"),
    "gauge": ("gauge", "gage", "instrument", "measuring device", "measured with", "prüfmittel", "messmittel", "moyen",
        "moyen de contrôle", "量具", "测量设备", "測定器", "検査具", "przyrząd", "przyrząd pomiarowy", "měřidlo", "meradlo", "mérőeszköz", "strumento", "instrumento", "instrumento de medida",
        "meetmiddel", "mätdon", "ölçüm aleti", "mijloc de măsurare", "средство измерения", "прибор", "측정기", "dụng cụ đo"),
}  # fmt: skip

# Names are compared without regard to case, for which ß is ss.
WORDS = {meaning: tuple(word.casefold() for word in words) for meaning, words in WORDS.items()}

#: Words of a judgement: accepted and rejected.
ACCEPTED = frozenset([
    "ok", "good", "pass", "passed", "accept", "accepted", "io", "i.o.", "i.o", "gut", "go", "yes", "true", "bon", "conforme",
    "合格", "良", "良品", "○", "◯", "〇", "✓", "✔", "☑", "a", "1",
    "aprovado", "aprovada", "bueno", "aceptado", "correcto", "buono", "accettato", "dobry", "dobra", "dobre", "zgodny", "dobrý",
    "vyhovuje", "shodný", "megfelelő", "goed", "goedgekeurd", "akkoord", "godkänd", "kabul", "uygun", "годен", "соответствует",
    "god", "godkendt", "hyväksytty", "hyvä", "dober", "dobar", "ustrezen", "αποδεκτό", "καλό",
    "합격", "양호", "양품", "適合", "通过", "jó", "bun", "bună", "conform", "đạt",
])  # fmt: skip
REJECTED = frozenset([
    "nok", "ng", "not ok", "bad", "fail", "failed", "reject", "rejected", "nio", "n.i.o.", "n.i.o", "schlecht", "nogo",
    "no go", "no", "false", "scrap", "ausschuss", "defective", "defect", "n.g.", "out of tolerance", "rebut", "mauvais", "non conforme", "不合格", "不良", "不良品", "×", "✗", "✘", "☒", "r", "0",
    "reprovado", "reprovada", "não conforme", "nao conforme", "rejeitado", "malo", "rechazado", "no conforme", "scarto", "respinto",
    "zły", "zła", "złe", "niezgodny", "odrzucony", "špatný", "nevyhovuje", "neshodný", "zmetek", "selejt", "nem megfelelő", "fout",
    "afgekeurd", "dårlig", "kasseret", "hylätty", "huono", "slab", "slaba", "neustrezen", "απορρίπτεται", "κακό", "underkänd", "ret", "uygun değil", "брак", "не годен", "негоден", "не соответствует", "불합격", "불량", "불량품",
    "不適合", "不通过", "rossz", "neconform", "không đạt",
])  # fmt: skip
#: Of these, what is no judgement unless its opposite is beside it.
WEAK = frozenset(["a", "r", "1", "0", "yes", "no", "true", "false", "bon"])
#: What affirms and what denies; each says something only where its own opposite is beside it and nothing else is.
_AFFIRMED = (
    ("yes", "no"), ("true", "false"), ("y", "n"), ("ja", "nein"), ("j", "n"), ("oui", "non"), ("o", "n"), ("vrai", "faux"), ("wahr", "falsch"),
    ("sì", "no"), ("si", "no"), ("sí", "no"), ("s", "n"), ("vero", "falso"), ("verdadero", "falso"), ("sim", "não"), ("sim", "nao"),
    ("verdadeiro", "falso"), ("tak", "nie"), ("t", "n"), ("prawda", "fałsz"), ("ano", "ne"), ("áno", "nie"), ("pravda", "nepravda"), ("igen", "nem"),
    ("igaz", "hamis"), ("t", "f"), ("+", "-"), ("+", "–"), ("+", "−"), ("＋", "－"), ("➕", "➖"), ("да", "нет"), ("истина", "ложь"), ("da", "nu"), ("da", "ne"), ("evet", "hayır"), ("doğru", "yanlış"), ("ja", "nee"),
    ("ja", "nej"), ("waar", "onwaar"), ("はい", "いいえ"), ("是", "否"), ("真", "假"), ("예", "아니요"),
)  # fmt: skip
#: The signs among them.
_PLUS = frozenset(["+", "＋", "➕"])
_SIGNS = _PLUS | {"-", "–", "−", "－", "➖"}
#: Letters that accept and reject, in the same way.
_LETTERS = (("p", "f"), ("g", "b"), ("g", "s"), ("g", "ng"), ("c", "nc"), ("b", "m"), ("go", "nogo"), ("o", "x"))  # fmt: skip
#: Names of columns in which "yes" says that something is wrong.
_FAULTS = frozenset([
    "defect", "defects", "defective", "fault", "faulty", "fail", "failed", "failure", "error", "scrapped", "rejects", "reject", "defekt", "fehler", "fehlerhaft", "mangel",
    "défaut", "rebut", "defeito", "refugo", "defecto", "rechazo", "difetto", "scarto", "wada", "wadliwy", "vada", "zmetek", "hiba", "selejt", "hata",
    "hatalı", "fout", "fel", "брак", "дефект", "缺陷", "欠陥", "불량",
])  # fmt: skip

#: "+Tol", "Tol -": the marks between words are taken out of a name, these say something.
_SIGN = re.compile(r"(?:^\s*|\s|\()([+\-−])(?!\s*/\s*[-+])(?=\s*\w|\s*\)?$)")
_TOLERANCE = re.compile(r"tol|abma|公差|偏差|許容差")


#: Words that mean this only alone.
_ALONE = frozenset(
    [
        "ot",
        "ut",
        "og",
        "ug",
        "lie",
        "lse",
        "ts",
        "lp",
        "spec",
        "wert",
        "valor",
        "numer",
        "값",
        "하한",
        "상한",
    ]
)


@functools.lru_cache(maxsize=4096)
def plain_name(name: str) -> str:
    """Write a column's name in lower case, without its unit and without marks between its words."""
    bare = without_unit(name)
    return (
        " ".join(re.sub(r"[_.:#/\\?-]+", " ", bare.casefold()).split()) or bare.casefold().strip()
    )


@functools.lru_cache(maxsize=4096)
def meanings(name: str) -> tuple[str, ...]:
    """List what a column's name may mean, best first; empty where nothing is known."""
    plain = plain_name(name)
    if name.strip() in ("+/-", "±", "+-"):
        return ("tolerance",)
    sign = _SIGN.search(name.casefold())
    if sign is not None and _TOLERANCE.search(name.casefold()):
        return ("upper tolerance",) if sign[1] == "+" else ("lower tolerance",)
    tokens = set(plain.split())
    whole, part = [], []
    for meaning, words in WORDS.items():
        if plain in words:
            whole.append(meaning)
            continue
        for word in words:
            if word in _ALONE:
                continue
            eastern = any(ord(sign) > 0x2E80 for sign in word)
            if (eastern and word in plain) or (" " in word and word in plain) or word in tokens:
                part.append(meaning)
                break
    return tuple(dict.fromkeys(whole + part))


def says(name: str, *wanted: str) -> bool:
    """Check whether a column's name may mean one of these."""
    return any(meaning in wanted for meaning in meanings(name))


def named_alone(name: str) -> set[str]:
    """Return what a column's name means as a whole: "Operator" an appraiser, "Operator 1" nothing."""
    plain = plain_name(name)
    return {meaning for meaning, words in WORDS.items() if plain in words}


def is_nameless(name: str) -> bool:
    """Check whether a column has no name of its own in the file."""
    return re.fullmatch(r"column \d+", name) is not None


def is_judgement(entries: set[str]) -> bool:
    """Check whether entries are judgements: known words, or a pair of short signs, or yes and no."""
    plain = {entry.casefold().strip() for entry in entries} - {""}
    known = plain & (ACCEPTED | REJECTED)
    strong = known - WEAK
    return (
        bool(strong)
        or (bool(plain & ACCEPTED) and bool(plain & REJECTED) and plain <= (ACCEPTED | REJECTED))
        or _pair(plain) is not None
    )


def _pair(plain: set[str]) -> tuple[str, str] | None:
    """Return what accepts and what rejects, where the entries are a known pair; else None."""
    return next((pair for pair in (*_AFFIRMED, *_LETTERS) if plain == set(pair)), None)


def only_signs(entries: Iterable[str]) -> bool:
    """Check whether the entries are a plus and a minus, of which nobody knows for certain which one is good."""
    plain = {entry.casefold().strip() for entry in entries} - {""}
    return len(plain) == 2 and plain <= _SIGNS and plain & _PLUS != set()


def only_affirms(entries: Iterable[str]) -> bool:
    """Check whether the entries of a column only say yes or no to what its name asks."""
    plain = {entry.casefold().strip() for entry in entries} - {""}
    return any(plain == set(pair) for pair in _AFFIRMED)


def says_fault(name: str) -> bool:
    """Check whether a column's name asks for a fault, so that "yes" rejects: Defect, Ausschuss, NOK."""
    plain = plain_name(name)
    return says(name, "rejected") or not _FAULTS.isdisjoint(plain.split())


#: A rejection with its reason behind: "NOK-Width", "FAIL (burr)".
_WITH_REASON = re.compile(
    r"(?:nok|n\.?i\.?o\.?|ng|not ok|fail|failed|reject|rejected|scrap|ausschuss|rebut|不良|不合格|불량|불합격)\s*[-:(/_,]\s*\w"
)


def split_judgement(entries: set[str]) -> tuple[list[str], list[str], list[str]]:
    """Split entries, as written, into accepted, rejected and others."""
    pair = _pair({entry.casefold().strip() for entry in entries} - {""})
    good, bad = (frozenset([each]) for each in pair) if pair else (ACCEPTED, REJECTED)
    accepted: list[str] = []
    rejected: list[str] = []
    other: list[str] = []
    for entry in sorted(entries):
        plain = entry.casefold().strip()
        fails = plain in bad or (pair is None and _WITH_REASON.match(plain))
        home = accepted if plain in good else rejected if fails else other
        if plain:
            home.append(entry.strip())
    return accepted, rejected, other


#: Names of columns that hold what is beside the nominal.
_DEVIATIONS = frozenset(["dev", "deviation", "deviations", "abweichung", "abw", "écart", "ecart", "desvio", "desviación", "odchylka", "odchyłka", "sapma", "δ", "delta", "偏差", "편차"])  # fmt: skip


def says_deviation(name: str) -> bool:
    """Check whether a column's name means deviations from a nominal."""
    return not _DEVIATIONS.isdisjoint(plain_name(name).split())

"""Code pages told by the letters of one language; each text is written here in the page that is its truth."""

from __future__ import annotations

import contextlib

import pytest

from linestudy.records.written.encodings import encoding_of


@pytest.mark.parametrize(
    "text",
    ["Sıra;Genişlik (mm);Yükseklik", "Parça;Ölçüm;Değer", "Çap (mm);Sayı", "İşlem;Kalınlık"],
)
def test_turkish_letters(text: str) -> None:
    raw = text.encode("cp1254")
    assert raw.decode(encoding_of(raw)) == text


HEADS = {
    "cp1250": (
        "Číslo;Čas;Šířka [mm];Hodnocení", "Díl;Měřidlo;Délka;Průměr", "Nr części;Średnica;Wysokość", "Próba;Długość;Ocena: zły",
        "Löket;Szélesség;Magasság;Minősítés", "Sorszám;Idő;Átmérő [mm];Hossz", "Tűrés;Felső határ;Alsó határ",
        "Číslo dielu;Šírka;Dĺžka;Výsledok merania", "Broj;Širina;Dužina;Visina", "Piesă;Lăţime;Înălţime;Măsurătoare", "výkres;měření",
        "část", "Kavita;Šarže;Hodnota",
    ),
    "cp1252": (
        "Prüfer;Maß;Größe", "Pièce;Opérateur;Étalon", "Peça;Medição;Situação", "Año;Medición;Tamaño", "Città;Qualità", "Bredde;Højde;Mål",
        "Höhe µm;Ø außen", "façade;où;été", "m³/h;Maß", "medições;opções;três",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("page", "text"), [(page, text) for page in HEADS for text in HEADS[page]])
def test_heads_of_one_language(page: str, text: str) -> None:
    raw = text.encode(page)
    assert raw.decode(encoding_of(raw)) == text


@pytest.mark.parametrize(
    "text", ["Šířka;Výška;Průměr", "výsledek;šarže", "hæð;þykkt;breiðd;mál", "größe;çap", "Wysokość;Średnica"]
)  # fmt: skip
def test_neighbours_of_turkish_are_none(text: str) -> None:
    written = {}
    for encoding in ("cp1250", "cp1252"):
        with contextlib.suppress(UnicodeEncodeError):
            written[encoding] = text.encode(encoding)
    assert written
    for raw in written.values():
        assert encoding_of(raw) != "cp1254"

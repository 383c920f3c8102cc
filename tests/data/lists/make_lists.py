"""Makes the demo lists of the invented supplier Arrowgrass, who writes Italian and German.

`python tests/data/lists/make_lists.py` writes both beside it: a CSV file as an old bookkeeping
program exports it, and the next issue as a workbook as a person keeps it.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Font

HERE = Path(__file__).parent

HEADINGS = (
    "Cod. / Art.-Nr.",
    "Descrizione / Bezeichnung",
    "Denti / Zähne",
    "Modello / Modell",
    "Ruota / Rad",
    "Carter / Gehäuse",
    "Prezzo EUR / Preis EUR",
    "Disp. / Lager",
)

JANUARY = '''\
Arrowgrass S.r.l.;;;;;;;
Listino prezzi / Preisliste 01/2026;;;;;;;
Prezzi netti, IVA esclusa / Nettopreise zzgl. MwSt.;;;;;;;
;;;;;;;
{headings}
Dunlin 50;;;;;;;
00117;Coppia primaria;15/44;Dunlin 50;"10""";corto;49,90;sì
00118;Coppia primaria;16/43;Dunlin Ten;"10""";;52,50;sì
00119;Coppia secondaria;14/52;Dunlin Ten / Twelve;;;51,00;su ordinazione
00120;Coppia secondaria Z=13/53 el.;;Dunlinn Twelve;"12""";;51,00;sì
00121;Coppia ingranaggi;15/42;Dunlin Tour;"13""";;46,00;5 pz
00122;Serie completa;16/44 + 14/54;DN50;;;1.118,00;no
00123;Coppia primaria;13/46;DUNLIN POST;"16""";carter L;47,50;ja
00124;Coppia primaria;13/47;Dunlin 50;"16""";tipo C;47,50;sì
;;;;;;;
Sanderling 50;;;;;;;
00201;Coppia primaria;14/43;Sanderling Dash, Sanderling Drift;;;€ 48,-;sì
00202;Zahnradpaar sek.;14/49;SANDERLING STRAND;"16""";;53,00;auf Lager
00203;Coppia secondaria;13/48;Dunlin Ten + Sanderling Dash;;;53,00;sì
Whimbrel 125;;;;;;;
00301;Coppia primaria;18/47;Whimbrel Fjord / Moor;;;66,00;sì
00302;Coppia secondaria;17/44;Whimbrel 150;;;66,00;no
00303;Coppia secondaria;vedi disegno;Whimbrel Sound;;;71,00;sì
00304;Coppia secondaria;;Whimbrel 125;;;71,00;sì
Altro / Sonstiges;;;;;;;
00901;Paraolio 20x30x7;;tutti;;;2,80;sì
00902;Coppia primaria;15/43;Snipe Classic;"10""";;45,00;no
;Coppia primaria;15/45;Dunlin Ten;;;45,00;sì
00117;Coppia primaria;15/44;Dunlin 50;"10""";corto;44,90;sì
;;;;;;;
Totale;;;;;;1.942,40;
Salvo errori e omissioni. Irrtum vorbehalten.;;;;;;;
Pagina 1 di 1;;;;;;;
'''

FEBRUARY: tuple[tuple[object, ...], ...] = (
    ("Dunlin 50",),
    (117, "Coppia primaria", "15/44", "Dunlin 50", '10"', "corto", 49.9, "sì"),
    (118, "Coppia primaria", "16/43", "Dunlin Ten", '10"', None, 54.5, "sì"),
    (119, "Coppia secondaria", "14/53", "Dunlin Ten / Twelve", None, None, 51, "su ordinazione"),
    (120, "Coppia secondaria", "13/53", "Dunlinn Twelve", 12, None, 51, "sì"),
    (121, "Coppia ingranaggi", "15/42", "Dunlin Tour", 13, None, 46, "2 pz"),
    (122, "Serie completa", "16/44 + 14/54", "DN50", None, None, 1118, "no"),
    (123, "Coppia primaria", "13/46", "DUNLIN POST", 16, "carter L", 47.5, "sì"),
    (124, "Coppia primaria", "13/47", "Dunlin 50", 16, "tipo C", 47.5, "sì"),
    (125, "Coppia primaria", dt.date(1945, 12, 1), "Dunlin Cargo", 10, None, "49,90 €", "sì"),
    ("Sanderling 50",),
    (201, "Coppia primaria", "14/43", "Sanderling Dash, Sanderling Drift", None, None, 48, "sì"),
    (203, "Coppia secondaria", "13/48", "Dunlin Ten + Sanderling Dash", None, None, 53, "sì"),
    ("Whimbrel 125",),
    (301, "Coppia primaria", "18/47", "Whimbrel Fjord / Moor", None, None, 66, "sì"),
    (302, "Coppia secondaria", "17/44", "Whimbrel 150", None, None, 66, "no"),
    (304, "Coppia secondaria", "17/45", "Whimbrel 125", None, None, 71, "sì"),
    ("Altro / Sonstiges",),
    (901, "Paraolio 20x30x7", None, "tutti", None, None, 2.8, "sì"),
    (902, "Coppia primaria", "15/43", "Snipe Classic", 10, None, 45, "no"),
)


def january(path: Path) -> None:
    """The list as CSV: Windows-1252, semicolons, decimal comma, lines ending in CR LF."""
    text = JANUARY.format(headings=";".join(HEADINGS))
    path.write_bytes(text.replace("\n", "\r\n").encode("cp1252"))


def february(path: Path) -> None:
    """The next issue as a workbook: a title over merged cells, a hidden column and sheet."""
    book = Workbook()
    book.properties.created = book.properties.modified = dt.datetime(2026, 2, 2)
    sheet = book.active
    sheet.title = "Listino"
    sheet.append(["Arrowgrass S.r.l. - Listino prezzi / Preisliste 02/2026"])
    sheet.merge_cells("A1:H1")
    sheet["A1"].font = Font(bold=True)
    sheet.append([])
    sheet.append([*HEADINGS, "EK"])
    for row in FEBRUARY:
        sheet.append(row)
        at = sheet.max_row
        if len(row) == 1:
            sheet.merge_cells(start_row=at, start_column=1, end_row=at, end_column=8)
            continue
        sheet.cell(at, 1).number_format = "00000"
        if isinstance(row[2], dt.date):
            sheet.cell(at, 3).number_format = "m/yy"
        if not isinstance(row[6], str):
            sheet.cell(at, 7).number_format = "#,##0.00 [$€-407]"
            sheet.cell(at, 9, round(float(str(row[6])) * 0.6, 2))
    sheet.append([])
    sheet.append(["Salvo errori e omissioni."])
    sheet.column_dimensions["I"].hidden = True
    terms = book.create_sheet("AGB")
    terms.append(["Condizioni di vendita / Verkaufsbedingungen"])
    terms.append(["Consegna franco fabbrica. Lieferung ab Werk."])
    old = book.create_sheet("2025")
    old.append(list(HEADINGS))
    old.append(["00117", "Coppia primaria", "15/44", "Dunlin 50", '10"', "corto", 45.9, "sì"])
    old.sheet_state = "hidden"
    book.save(path)


if __name__ == "__main__":
    january(HERE / "arrowgrass-2026-01.csv")
    february(HERE / "arrowgrass-2026-02.xlsx")

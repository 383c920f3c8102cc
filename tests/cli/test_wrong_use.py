"""Wrong command lines: one line that says what and what to do, exit code 2, nothing on stdout."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from fitcheck.cli.main import COMMANDS
from tests.conftest import table

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "data" / "sample-catalog"


@dataclass(frozen=True)
class Wrong:
    """A command line and what its one line must say.

    Attributes:
        words: the command line; {tmp} stands for a scratch folder.
        says: words its line holds, what is wrong and what to do.
        env: environment beside FITCHECK_CATALOG, which names the small sample.
    """

    words: tuple[str, ...]
    says: tuple[str, ...]
    env: dict[str, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        text = " ".join(word[:24] or "''" for word in self.words)
        return text.encode("unicode_escape").decode("ascii") or "nothing"


def wrong(line: str | tuple[str, ...], *says: str, **env: str) -> Wrong:
    words = tuple(line.split()) if isinstance(line, str) else line
    return Wrong(words, says, env)


COUNTS = "match --family dunlin-50 --teeth"
MACHINE = "match kestrel-lane-7"
ROAD = "road kestrel-lane-7"
SHEET = "sheet kestrel-lane-7 MA-1543 -o -"
ADD = "add set --supplier marram --part-number 1852"
ADD_P = f"{ADD} --teeth 18/52 --stage primary"
NO_CATALOGUE = {"FITCHECK_CATALOG": ""}

WRONG = [
    # commands and options
    wrong("mach", "no command 'mach'", "did you mean match?"),
    wrong("MATCH", "no command 'MATCH'", "did you mean match?"),
    wrong("vend", "no command 'vend'", "there is match, why"),
    wrong(("",), "no command ''", "there is match"),
    wrong(("x" * 5000,), "no command", "there is match"),
    wrong("--catalog", "no option --catalog", "--help"),
    wrong("--versoin", "no option --versoin", "did you mean --version?"),
    wrong("match --suplier marram", "no option --suplier", "did you mean --supplier?"),
    wrong("match --zzz", "no option --zzz", "see fitcheck match --help"),
    wrong("match -5", "no option -5", "see fitcheck match --help"),
    wrong("match kestrel-lane-7 and more", "and more", "see fitcheck match --help"),
    wrong(f"{MACHINE} --format xml", "'xml'", "json"),
    wrong(f"{MACHINE} --band out", "'out'", "stretch"),
    wrong(f"{MACHINE} --percent", "'--percent'", "fitcheck match --help"),
    wrong(f"{MACHINE} --wheel 10 --wheel 12", "--wheel is given 2 times", "give it once"),
    wrong(f"{MACHINE} --percent 1..2 --percent 2..3", "--percent is given 2 times", "once"),
    wrong(f"{MACHINE} --catalog a --catalog b", "--catalog is given 2 times", "once"),
    # the machine
    wrong("match", "name a machine, or give its counted teeth", "--help"),
    wrong("match kestrel-lane-8", "no machine 'kestrel-lane-8'", "there is kestrel-lane-7"),
    wrong("match kestrl-lane-7", "no machine", "did you mean kestrel-lane-7?"),
    wrong("match dunlin-50", "'dunlin-50' is an engine family", "its machines are kestrel-lane-7"),
    wrong(("match", ""), "no machine ''", "there is kestrel-lane-7"),
    wrong(("match", "  "), "no machine", "there is kestrel-lane-7"),
    wrong(("match", "m" * 100_000), "no machine 'mmm", "there is kestrel-lane-7"),
    wrong(("match", "a\nb\rc"), r"no machine 'a\nb\rc'", "there is kestrel-lane-7"),
    wrong(("match", "\x1b[31mred\x07"), r"no machine '\x1b[31mred\x07'", "there is"),
    wrong(("match", "\u202egnirts"), r"no machine '\u202e", "there is"),
    wrong(("match", "🛵"), "no machine '🛵'", "there is kestrel-lane-7"),
    wrong(("match", "\udcff\udcfe"), r"no machine '\udcff\udcfe'", "there is"),
    wrong(("match", "; rm -rf /tmp/x #"), "there is no such file", "rm -rf"),
    wrong(("match", "$(touch {tmp}/owned)"), "there is no such file"),
    wrong(("match", "' OR 1=1 --"), "no machine", "there is kestrel-lane-7"),
    wrong(("match", "%s%n{0}"), "no machine '%s%n{0}'", "there is"),
    wrong("match -- --help", "no machine '--help'", "there is kestrel-lane-7"),
    wrong("match -- kestrel-lane-7 --top 1", "--top 1", "see fitcheck match --help"),
    wrong("match kestrel-lane-7 --family dunlin-50", "a machine or --family, not both"),
    wrong("match {tmp}/none.yaml", "none.yaml: there is no such file"),
    wrong(("match", "a\0b.yaml"), r"a\x00b.yaml", "cannot be read"),
    wrong("match {tmp}/", "this is a folder"),
    wrong(("match", f"{'d/' * 3000}x.yaml"), "too long"),
    # counts
    wrong("match --family dunlin-50", "--teeth is missing", "like 14/45,13/48"),
    wrong("match 23/24 31/99", "no factory train on file", "-f: there is dunlin-50"),
    wrong("match 13/47 13/50", "near one; go on with: fitcheck match 13/47 13/49 -f dunlin-50"),
    wrong("match kestrel-lane-7 13/47", "one name is enough", "'13/47' follows it"),
    wrong("match -f dunlin-50 kestrel-lane-7 -n 1", "a machine or --family, not both"),
    wrong("match -family dunlin-50", "no option -family", "did you mean --family?"),
    wrong(f"{MACHINE} -w 10 --wheel 12", "--wheel is given 2 times", "give it once"),
    wrong(f"{COUNTS} 13/47", "has 2 stages", "give the pair of every stage"),
    wrong(f"{COUNTS} 13/47,13/49,14/20", "has 2 stages", "counted 3"),
    wrong((*COUNTS.split(), ""), "no tooth counts given", "like"),
    wrong((*COUNTS.split(), "teeth"), "no pair of tooth counts", "for example 15/38"),
    wrong(f"{COUNTS} 13/47,", "has 2 stages", "counted 1"),
    wrong(f"{COUNTS} 13,47", "tooth counts"),
    wrong(f"{COUNTS} 13/13,13/49", "both gears have 13 teeth", "count again"),
    wrong(f"{COUNTS} 13/470,13/49", "470 teeth is out of range", "count again"),
    wrong(f"{COUNTS} 13.5/47,13/49", "not a whole number"),
    wrong(f"{COUNTS} -13/47,13/49", "-13 teeth is out of range"),
    wrong(f"{COUNTS} 0/47,13/49", "0 teeth is out of range"),
    wrong((*COUNTS.split(), "9" * 100_000), "too long for a train"),
    wrong(f"{MACHINE} --teeth 13/47", "this train has 2 stages", "counted 1; give"),
    # family, housing, tune
    wrong("match --family dunlin-51 --teeth 13/47,13/49", "no engine family", "dunlin-50"),
    wrong("match --family dunlim-50 --teeth 1/2", "'--teeth'", "1 tooth is out of range"),
    wrong("match --family dunlim-50 --teeth 13/47,13/49", "did you mean dunlin-50?"),
    wrong(f"{COUNTS} 13/47,13/49 --housing one", "dunlin-50 has no housing 'one'", "short or mid"),
    wrong(f"{COUNTS} 13/47,13/49 --tune stok", "no tune 'stok'", "did you mean stock?"),
    wrong(f"{MACHINE} --housing hull", "no housing 'hull'", "short or mid"),
    # figures
    wrong(f"{MACHINE} --wheel 0", "0 is out of range", "give 4 to 30"),
    wrong(f"{MACHINE} --wheel abc", "'abc' is no whole number", "give 4 to 30"),
    wrong(f"{MACHINE} --wheel 1000", "1000 is out of range", "give 4 to 30"),
    wrong(f"{MACHINE} --wheel 10.5", "'10.5' is no whole number", "give 4 to 30"),
    wrong((*MACHINE.split(), "--wheel", ""), "'' is no whole number", "give 4 to 30"),
    wrong(f"{MACHINE} --wheel {'9' * 9999}", "is out of range", "give 4 to 30"),
    wrong(f"{MACHINE} --top -1", "-1 is out of range", "give 0 or more"),
    wrong(f"{MACHINE} --top 1e3", "'1e3' is no whole number"),
    wrong(f"{MACHINE} --max-sets 0", "0 is out of range", "give 1 to 3"),
    wrong(f"{MACHINE} --max-sets 9", "9 is out of range", "give 1 to 3"),
    wrong(f"{MACHINE} --max-price abc", "'--max-price': 'abc'", "give an amount"),
    wrong(f"{MACHINE} --max-price -1", "below zero", "give an amount"),
    wrong(f"{MACHINE} --max-price NaN", "'NaN' is no sensible number", "give an amount"),
    wrong(f"{MACHINE} --max-price Infinity", "no sensible number", "give an amount"),
    wrong(f"{MACHINE} --max-price 1e99999999", "no sensible number", "give an amount"),
    wrong(f"{MACHINE} --max-price 1.234,50", "no sensible number", "give an amount"),
    wrong((*MACHINE.split(), "--max-price", "75 euros"), "'euros' is no currency", "like EUR"),
    wrong(f"{MACHINE} --idler-seats ST-14,ST-15", "1 seat between its stages", "? for one"),
    wrong(f"{MACHINE} --supplier maram", "no supplier 'maram'", "did you mean marram?"),
    wrong(f"{MACHINE} --roll-out 12", "no roll-out of a wheel", "300 to 5000"),
    wrong(f"{MACHINE} --roll-out 1,300", "1,300 may mean 1300 or 1.300", "write 1300"),
    wrong(f"{MACHINE} --roll-out wide", "'wide'", "give millimetres"),
    wrong(f"{MACHINE} --roll-out 1300 --new-roll-out -1340", "no roll-out", "300 to 5000"),
    wrong("match unknown-case --new-roll-out 1340", "give --roll-out too"),
    wrong(f"{MACHINE} --new-roll-out 1340 --new-tyre t-350-10", "not both"),
    wrong(f"{MACHINE} --wheel 12 --new-tyre 120/70-12", "for another wheel", "--tyre SIZE"),
    wrong(f"{MACHINE} --new-tyre t-350-11", "no tyre 't-350-11'", "there is"),
    wrong(f"{MACHINE} --new-tyre 350-11", "'350-11' is no tyre size", "did you mean 3.50-11?"),
    wrong(f"{MACHINE} --tyre 120/700-12", "height of 700 % is out of range", "the sidewall again"),
    wrong((*MACHINE.split(), "--tyre", ""), "no tyre ''", "there is"),
    wrong(f"{MACHINE} --tyre 3.50-10 --tyre 4.00-10", "--tyre is given 2 times"),
    # percent windows
    wrong(f"{MACHINE} --percent 15..10", "backwards", "low..high"),
    wrong((*MACHINE.split(), "--percent", ""), "no percent window", "like 10..15"),
    wrong(f"{MACHINE} --percent ..", "gives no edge", "like 10..15"),
    wrong(f"{MACHINE} --percent 12", "no percent window", "like 10..15"),
    wrong(f"{MACHINE} --percent 10-15", "no percent window", "like 10..15"),
    wrong(f"{MACHINE} --percent ten..fifteen", "'ten' is no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent ..-100", "over -100 %", "like 10..15"),
    wrong(f"{MACHINE} --percent NaN..5", "no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent inf..5", "no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent 0..1e999", "no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent 0..9999999", "no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent 1/3..5", "no percentage", "like 10..15"),
    wrong(f"{MACHINE} --percent 1..2..3", "no percent window", "like 10..15"),
    wrong(f"{MACHINE} --percent 0..{'1' * 5000}", "no percentage", "like 10..15"),
    # why
    wrong("why", "name a machine"),
    wrong("why kestrel-lane-7", "name the gear sets", "fitcheck why MACHINE SET"),
    wrong("why kestrel-lane-7 MA-9999", "no gear set 'MA-9999'", "there is"),
    wrong("why kestrel-lane-7 MA-1543 MA-1543", "MA-1543 is named twice", "name it once"),
    wrong(("why", "kestrel-lane-7", ""), "no part is named", "give an id"),
    wrong("why kestrel-lane-7 MA-1544 --format csv", "'csv'", "json"),
    # road
    wrong("road", "name a machine, or give its counted teeth", "--help"),
    wrong("road kestrel-lane-8", "no machine 'kestrel-lane-8'", "there is kestrel-lane-7"),
    wrong("road unknown-case --tyre 3.50-10", "give --power KW@RPM", "engine"),
    wrong(f"{ROAD} MA-9999", "no gear set 'MA-9999'", "there is"),
    wrong(f"{ROAD} MA-1543+MA-9999", "no gear set 'MA-9999'", "there is"),
    wrong(f"{ROAD} MA-1543+", "'MA-1543+' has a + with no set beside it", "join sets"),
    wrong(f"{ROAD} +", "'+' has a + with no set beside it", "join sets"),
    wrong((*ROAD.split(), ""), "no part is named", "give an id"),
    wrong(f"{ROAD} MA-1543+MA-1543", "MA-1543 is named twice", "name it once"),
    wrong(f"{ROAD} MA-1543 1543", "MA-1543 is named twice", "name each choice once"),
    wrong(f"{ROAD} --power 2.4", "'--power': '2.4' gives no engine speed", "like 2.4@6500"),
    wrong(f"{ROAD} --power @6500", "no sensible number", "a number in kW like 2.4"),
    wrong(f"{ROAD} --power 0@6500", "0 kW is no power of such an engine", "0.1 to 200 kW"),
    wrong(f"{ROAD} --power 2.4@65", "65 1/min is no engine speed", "give 500 to 30000"),
    wrong(f"{ROAD} --power 2.4@6,500", "6,500 may mean 6500 or 6.500", "write 6500"),
    wrong(f"{ROAD} --power 2.4@6500@7", "'6500@7' is no sensible number", "like 6500"),
    wrong(f"{ROAD} --power 3.4hp@6500", "'3.4hp' is no sensible number", "in kW"),
    wrong(f"{ROAD} --mass 0", "'--mass': 0 kg is no mass", "give 20 to 1000 kg"),
    wrong(f"{ROAD} --mass 5000", "5000 kg is no mass", "give 20 to 1000 kg"),
    wrong(f"{ROAD} --mass NaN", "'NaN' is no sensible number", "a number in kg like 95"),
    wrong(f"{ROAD} --mass 1e999", "'1e999' is no sensible number", "in kg"),
    wrong(f"{ROAD} --mass {'9' * 9999}", "is no sensible number", "in kg"),
    wrong((*ROAD.split(), "--mass", ""), "'' is no sensible number", "in kg"),
    wrong(f"{ROAD} --rider -75", "-75 kg is no mass of rider and load", "give 20 to 300 kg"),
    wrong(f"{ROAD} --ratios 0.8:2.6", "the starting ratio stands first", "are they swapped?"),
    wrong(f"{ROAD} --ratios 2.6:0.8:1", "no pair of ratios", "like 2.6:0.85"),
    wrong(f"{ROAD} --ratios 2.6:0", "0 is no variator ratio", "give 0.2 to 20"),
    wrong(f"{ROAD} --ratios wide", "'wide' is no sensible number", "give a number like 1"),
    wrong(f"{ROAD} --efficiency 83", "83 is no efficiency of a driveline", "give 0.3 to 1"),
    wrong(f"{ROAD} --rolling 0", "0 is no rolling coefficient", "0.001 to 0.1"),
    wrong(f"{ROAD} --drag-area 9", "9 m2 is no drag area", "0.05 to 3 m2"),
    wrong(f"{ROAD} --altitude 9000", "9000 m is no height of a road", "-500 to 6000 m"),
    wrong(f"{ROAD} --altitude 1,200", "may mean 1200 or 1.200", "write 1200 or 1.200"),
    wrong(f"{ROAD} --rider 1,234", "1,234 kg is no mass of rider", "20 to 300 kg"),
    wrong(f"{ROAD} --temperature 200", "is no weather to ride in", "-40 to 60"),
    wrong(f"{ROAD} --steady 0", "0 km/h is no speed", "give 5 to 250 km/h"),
    wrong(f"{ROAD} --at 45 --at -45", "'--at': -45 km/h is no speed", "5 to 250"),
    wrong(f"{ROAD} --rev-limit 1e9", "no sensible number", "a number in 1/min like 8500"),
    wrong(f"{ROAD} --engage-rpm 7000 --shift-rpm 6000", "--engage-rpm 7000", "swapped"),
    wrong(f"{ROAD} --engage-rpm 7500", "7500", "7000"),
    wrong(f"{ROAD} --class l1e-c", "no vehicle class 'l1e-c'", "did you mean l1e-b?"),
    wrong(f"{ROAD} --class bus", "no vehicle class 'bus'", "there is l1e-b"),
    wrong(f"{ROAD} --measured-top 60 --shown-top 65", "--measured-top or --shown-top", "both"),
    wrong(f"{ROAD} --measured-top 240", "240 km/h cannot be explained", "check"),
    wrong(f"{ROAD} --mass 90 --mass 95", "--mass is given 2 times", "give it once"),
    wrong(f"{ROAD} --chart road.pdf", "'road.pdf' says no kind of picture", ".svg or .png"),
    wrong(f"{ROAD} --chart road", "'road' says no kind of picture", ".svg or .png"),
    wrong(f"{ROAD} --chart {{tmp}}/none/road.svg", "none/road.svg", "check the path"),
    wrong(f"{ROAD} --format xml", "'xml'", "json"),
    # lists on the road and before the law
    wrong(f"{MACHINE} --rank fast", "'fast'", "verdict"),
    wrong(f"{MACHINE} --rank 0-45 --rank verdict", "--rank is given 2 times", "give it once"),
    wrong(f"{MACHINE} --measured-top 50", "nothing of the road is asked", "--road, --rank or"),
    wrong(f"{MACHINE} --class l1e-b", "--class is of the road", "--lawful"),
    wrong(f"{MACHINE} --road --class l1e-c", "no vehicle class 'l1e-c'", "did you mean l1e-b?"),
    wrong(f"{MACHINE} --lawful --power 2.4", "gives no engine speed", "like 2.4@6500"),
    wrong(f"{MACHINE} --road --mass 5000", "5000 kg is no mass", "give 20 to 1000 kg"),
    wrong(f"{MACHINE} --road --ratios 0.8:2.6", "the starting ratio stands first", "swapped?"),
    wrong(f"{MACHINE} --road --steady 40", "no option --steady", "--help"),
    wrong(f"{MACHINE} --road --measured-top 240", "240 km/h cannot be explained", "check"),
    wrong(f"{COUNTS} 14/47,13/49 --road", "is not known", "--roll-out MM"),
    wrong("options dunlin-50 --shown-top 50", "nothing of the road is asked", "--road"),
    # sheet
    wrong("sheet", "name the page to write: -o sheet.html", "--help"),
    wrong("sheet kestrel-lane-7", "name the page to write", "-o - for stdout"),
    wrong("sheet -o -", "name a machine, or give its counted teeth", "--help"),
    wrong(("sheet", "kestrel-lane-7", "-o", ""), "name the page to write"),
    wrong("sheet kestrel-lane-7 MA-9999 -o -", "no gear set 'MA-9999'", "there is"),
    wrong("sheet kestrel-lane-7 MA-1543 -o {tmp}", "is a folder; name a file in it"),
    wrong("sheet kestrel-lane-7 MA-1543 -o {tmp}/file.txt", "was not made by fitcheck", "--force"),
    wrong("sheet kestrel-lane-7 MA-1543 -o {tmp}/none/x.html", "is no folder; make it first"),
    wrong("sheet kestrel-lane-7 MA-1543 -o - --date today", "is no date", "like 2026-03-31"),
    wrong("sheet kestrel-lane-7 MA-1543 -o - --locale klingon", "no locale 'klingon'", "de_DE"),
    wrong("sheet kestrel-lane-7 MA-1543 -o a -o b", "--output is given 2 times", "give it once"),
    wrong(f"{SHEET} --quote E", "'E' names no options", "A,C"),
    wrong(f"{SHEET} --quote B", "no option B to quote", "there is A"),
    wrong(f"{SHEET} --tax 22", "--tax is of a quotation", "add --quote"),
    wrong(f"{SHEET} --extra gasket=3", "--extra is of a quotation", "add --quote"),
    wrong(f"{SHEET} --quote A --tax 101", "101 is no rate of tax", "0 to 100"),
    wrong(f"{SHEET} --quote A --tax -1", "-1 is below zero", "give 0 or more"),
    wrong(f"{SHEET} --quote A --tax many", "'many' is no sensible number", "22 or 1.5"),
    wrong(f"{SHEET} --quote A --prices-exclude-tax", "needs the rate", "--tax PERCENT"),
    wrong(f"{SHEET} --quote A --extra gasket", "'gasket' is no extra", "gasket=3.50"),
    wrong(f"{SHEET} --quote A --extra =3", "'=3' is no extra", "gasket=3.50"),
    wrong(f"{SHEET} --quote A --extra gasket=x", "'x' is no sensible number", "74.90"),
    wrong(f"{SHEET} --quote A --extra Oil=3 --extra oil=4", "'oil' twice", "give it once"),
    wrong(f"{SHEET} --quote A --labour 9 --rate 48", "not both", "--labour-hours and --rate"),
    wrong(f"{SHEET} --quote A --labour-hours 2", "--rate is missing", "or --labour"),
    wrong(f"{SHEET} --quote A --rate 48", "--labour-hours is missing", "or --labour"),
    wrong(f"{SHEET} --quote A --labour-hours 1001 --rate 1", "1001 h is no work", "0 to 1000"),
    wrong(f"{SHEET} --quote A --currency euro", "'euro' is no currency", "like EUR"),
    wrong(f"{SHEET} --quote A --currency EUE", "'EUE' is no currency", "like EUR"),
    wrong(f"{SHEET} --quote A --valid-days 0", "0 is out of range", "1 to 366"),
    wrong(f"{SHEET} --quote A --date 9999-12-31", "too late a day", "another --date"),
    # identify
    wrong("identify", "'PAIRS", "see fitcheck identify --help"),
    wrong("identify 13/47 13/49 13/47 13/49", "one to three stages", "here are 4"),
    wrong("identify 15/15", "both gears have 15 teeth", "count again"),
    wrong("identify 0/0", "out of range", "count again"),
    wrong("identify 938", "perhaps 15:38 read in base 60", "write 15/38"),
    wrong("identify 13/47 --wheel 3", "3 is out of range", "give 4 to 30"),
    # options
    wrong("options", "'FAMILY'", "see fitcheck options --help"),
    wrong("options dunlim-50", "did you mean dunlin-50?"),
    wrong("options dunlin-50 --housing one", "no housing 'one'", "short or mid"),
    wrong("options dunlin-50 --wheel 16", "no factory train of dunlin-50 like that", "there is"),
    wrong("options turnstone-70", "no factory train of turnstone-70"),
    # shelf
    wrong("shelf sell", "no command 'sell'", "there is list, receive"),
    wrong("shelf issue MA-1543", "'QUANTITY'", "fitcheck shelf issue --help"),
    wrong("shelf receive MA-1543 0", "0 is out of range", "give 1 to 1000000"),
    wrong("shelf receive MA-1543 1 --cost cheap", "'cheap' is no sensible number"),
    wrong("shelf count", "name the file that was counted", "--as-written"),
    wrong("shelf count {tmp}/none.csv", "none.csv: there is no such file"),
    wrong("shelf history MA-9999", "no gear set 'MA-9999'"),
    # lists taken in
    wrong("import prices.csv", "prices.csv: there is no such file"),
    # entries added, changed and retired
    wrong("add sett", "no command 'sett'", "did you mean set?"),
    wrong("add set", "--supplier and --part-number and --teeth are missing"),
    wrong("add set --part-number 1 --teeth 15/40", "--supplier is missing", "needs --supplier"),
    wrong(f"{ADD} --teeth 15/40", "the stage is not said", "primary", "--stage"),
    wrong(f"{ADD} --teeth 15/15 --stage primary", "both gears have 15 teeth", "count again"),
    wrong(f"{ADD} --teeth 15/40 --stage frist", "'frist'", "primary"),
    wrong(f"{ADD} --teeth 15/40 --stage primary --stage single", "1 pair and 2 stages"),
    wrong(f"{ADD} --teeth 15/40,13/48 --stage primary --stage primary", "given twice"),
    wrong("add set --supplier maram --part-number 1 --teeth 1/2", "1 tooth is out of range"),
    wrong(f"{ADD_P.replace('marram', 'maram')}", "no supplier 'maram'", "did you mean marram?"),
    wrong(f"{ADD_P} --family dunlim-50", "did you mean dunlin-50?"),
    wrong(f"{ADD_P} --family dunlin-50 --housing shrt", "no housing 'shrt'", "short or mid"),
    wrong(f"{ADD_P} --housing short", "the housings of which family?", "give --family"),
    wrong(f"{ADD_P} --price -3", "below zero", "give an amount"),
    wrong(f"{ADD_P} --id 9x", "'9x' is no id", "begin it with a letter"),
    wrong(f"{ADD_P} --id ma-1543", "the id MA-1543 is there already", "leave --id out"),
    wrong(f"{ADD_P.replace('1852', '1543')}", "1543 of marram is MA-1543 already", "15/43"),
    wrong(f"{ADD_P.replace('1852', '1543-b')}", "is MA-1543 already", "and not primary 18/52"),
    wrong((*ADD_P.split(), "--notes", "a\x07b"), "hidden character U+0007"),
    wrong((*ADD_P.split(), "--name", "a\nb"), r"the name holds the character \n", "one line"),
    wrong((*ADD_P.split(), "--model", " "), "the model is blank", "leave it out"),
    wrong(("edit", "MA-1543", "name=a\tb"), r"name: the value holds the character \t"),
    wrong(("retire", "MA-1543", "--reason", "a\nb"), r"the reason holds the character \n"),
    wrong((*ADD.split()[:-1], " ", "--teeth", "15/40", "--stage", "primary"), "number is blank"),
    wrong("edit", "'SET'", "fitcheck edit --help"),
    wrong("edit MA-1543", "nothing to change of MA-1543", "price=64.90"),
    wrong("edit MA-1534 price=1", "no gear set 'MA-1534'"),
    wrong("edit MA-1543 price", "'price' is no field=value", "price=64.90"),
    wrong("edit MA-1543 prise=1", "no field 'prise'", "did you mean price?"),
    wrong("edit MA-1543 price=cheap", "price: 'cheap' is no sensible number", "74.90"),
    wrong("edit MA-1543 price=-1", "below zero"),
    wrong("edit MA-1543 price=1 price=2", "price is given twice"),
    wrong("edit MA-1543 availability=instock", "did you mean in-stock?"),
    wrong("edit MA-1543 teeth=15/43,13/48", "holds 1 pair (primary), here are 2"),
    wrong("edit MA-1543 teeth=", "a set has teeth"),
    wrong("edit MA-1543 housings=shrt", "no housing 'shrt'", "short or mid"),
    wrong("edit GW-1447 housings=short", "fits no family yet", "fits.FAMILY="),
    wrong("edit MA-1543 fits.dunlim-50=short", "did you mean dunlin-50?"),
    wrong("edit MA-1543 status=retired", "fitcheck retire MA-1543"),
    wrong("edit MA-1543 successor=MA-1445", "fitcheck retire SET --successor"),
    wrong("edit MA-1543 source.date=31.3.2026", "'31.3.2026' is no date", "2026-03-31"),
    wrong("edit MA-1543 currency=euros", "FC111 currency is three capital letters", "marram.yaml"),
    wrong("retire", "'SET'", "fitcheck retire --help"),
    wrong("retire MA-9999", "no gear set 'MA-9999'"),
    wrong("retire MA-1543 --successor MA-1543", "its own successor", "name the set sold now"),
    wrong("retire MA-1543 --successor MA-2000", "in a circle: MA-1543 → MA-2000 → MA-1543"),
    wrong(("retire", "MA-1543", "--reason", " "), "the reason is blank"),
    wrong("retire MA-1545 --write", "demo is never written", "copy the folder", **NO_CATALOGUE),
    wrong("edit MA-1545 price=1 --write", "demo is never written", **NO_CATALOGUE),
    wrong(f"{ADD_P} --write", "demo is never written", "--catalog", **NO_CATALOGUE),
    # check and schema
    wrong("check {tmp}/none", "is not there", "name a folder or a YAML file"),
    wrong(("check", ""), "empty path", "name a folder or a file"),
    wrong("check --format html", "'html'", "sarif"),
    wrong("check {tmp}", "no catalogue files here", "name the folder"),
    wrong("schema", "name one kind", "--write"),
    wrong("schema gearset", "no kind of file 'gearset'", "did you mean gear-set?"),
    wrong("schema machine --write {tmp}/new", "name one kind, or give --write"),
    wrong("schema --write {tmp}/file.txt", "is a file", "fitcheck schema --help"),
    wrong("schema --compare {tmp}/none", "does not exist", "fitcheck schema --help"),
    # what helps at the keyboard
    wrong("explain FC999", "there is no code 'FC999'", "FC212"),
    wrong("completion tcsh", "'tcsh'", "fish", "see fitcheck completion --help"),
    wrong("completion bash --install", "/dev/null", "check the path", XDG_DATA_HOME="/dev/null"),
    wrong("help tires", "no page 'tires'", "did you mean tyres?"),
    wrong("help --man {tmp}/file.txt", "is a file", "see fitcheck help --help"),
    # the catalogue
    wrong(f"{MACHINE} --catalog {{tmp}}/none", "is not there", "name a folder"),
    wrong(f"{MACHINE} --catalog {{tmp}}", "no catalogue files here", "name the folder"),
    wrong((*MACHINE.split(), "--catalog", ""), "empty path", "name a folder"),
    wrong(f"{MACHINE} --catalog {{tmp}}/file.txt", "is no YAML file", "name a folder"),
    wrong(MACHINE, "is not there", "name a folder", FITCHECK_CATALOG="/no/such/folder"),
    wrong(MACHINE, "no machine", "built-in demo", "--catalog", FITCHECK_CATALOG=""),
    wrong(MACHINE, "no machine", "built-in demo", "--catalog", FITCHECK_CATALOG="  "),
]


def test_there_are_enough_of_them() -> None:
    assert len({one.words + tuple(one.env.items()) for one in WRONG}) >= 60
    assert {one.words[0] for one in WRONG} >= set(COMMANDS)


@table("one", WRONG)
def test_one_line_says_what_and_what_to_do(one: Wrong, run, tmp_path: Path) -> None:
    (tmp_path / "file.txt").write_text("no catalogue at all\n", encoding="utf-8")
    before = sorted(tmp_path.iterdir())
    words = [word.replace("{tmp}", str(tmp_path)) for word in one.words]

    ran = run(*words, env={"FITCHECK_CATALOG": str(SAMPLE), **one.env})

    assert ran.code == 2, ran
    assert ran.out == ""
    assert ran.err.count("\n") == 1, ran.err
    line = ran.err.removesuffix("\n")
    assert line.isprintable(), line
    assert len(line) <= 700
    assert line.startswith("fitcheck")
    for said in one.says:
        assert said in line
    assert not re.search(r"Traceback|Error\b|fault of fitcheck|\(<|None", line), line
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    "line",
    [
        "match dunlin-ten --max-price abc",
        "match dunlin-ten --percent 15..10",
        "match dunlin-ten --roll-out 12",
        "match dunlin-ten --teeth 15/15",
        "match dunlin-ten --family dunlin-50",
        "match --family dunlin-50",
        "why dunlin-ten",
        "road dunlin-ten --power 2.4",
        "road dunlin-ten --chart road.pdf",
    ],
)
def test_the_catalogue_is_not_blamed_for_an_option(line: str, run) -> None:
    ran = run(*line.split(), env={"FITCHECK_CATALOG": ""})

    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(f"fitcheck {line.split(maxsplit=1)[0]}: ")
    assert "demo" not in ran.err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "match --family D50 --teeth 13/47,13/49",
            "'D50' may be dunlin-50 or redshank-50; name one of them",
        ),
        ("options Dunlin-Ten", "'Dunlin-Ten' may be dunlin-50 or redshank-50; name one of them"),
        ("match Kestrel", "'Kestrel' may be kestrel-a or kestrel-b; name one of them"),
        ("why kestrel-a 1543", "'1543' may be MA-1543 or GW-1543; name one of them"),
    ],
)
def test_a_name_that_several_share_is_refused(line: str, said: str, run, tmp_path: Path) -> None:
    for path in SAMPLE.rglob("*.yaml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    pairs = "pairs: {primary: 13/47, secondary: 13/49}"
    (tmp_path / "twins.yaml").write_text(
        "kind: machine\nrecords:\n"
        f"  kestrel-a: {{name: Kestrel, family: dunlin-50, {pairs}}}\n"
        f"  kestrel-b: {{name: kestrel, family: dunlin-50, {pairs}}}\n",
        encoding="utf-8",
    )
    (tmp_path / "twin-family.yaml").write_text(
        "kind: family\nrecords:\n  redshank-50:\n    name: Redshank 50\n"
        "    aliases: [d 50, Dunlin Ten]\n    housings: {short: {name: short case}}\n"
        "    stages: {primary: {}, secondary: {}}\n",
        encoding="utf-8",
    )
    (tmp_path / "twin-set.yaml").write_text(
        'kind: gear-set\nrecords:\n  GW-1543:\n    supplier: glasswort\n    part_number: "1543"\n'
        "    pairs: {primary: 15/43}\n",
        encoding="utf-8",
    )

    ran = run(*line.split(), "--catalog", str(tmp_path))

    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_a_link_to_itself_is_named(run, tmp_path: Path) -> None:
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)

    ran = run("match", str(loop))

    assert (ran.code, ran.out) == (2, "")
    assert "cannot be read (too many levels of symbolic links)" in ran.err
    assert ran.err.count("\n") == 1


def test_unreadable_catalogue_is_named(run, tmp_path: Path) -> None:
    locked = tmp_path / "locked.yaml"
    locked.write_text("kind: machine\nrecords: {}\n", encoding="utf-8")
    locked.chmod(0)
    if os.access(locked, os.R_OK):
        pytest.skip("this user may read everything")
    for words in (("match", "x", "--catalog", str(locked)), ("match", str(locked))):
        ran = run(*words)
        assert (ran.code, ran.out) == (2, "")
        assert "cannot be read (permission denied)" in ran.err
        assert ran.err.count("\n") == 1


RIGHT = [
    # an option's value may begin with a minus sign, either way of writing it
    (f"{MACHINE} --percent -5..0", {0, 3}),
    (f"{MACHINE} --percent=-5..0", {0, 3}),
    (f"{MACHINE} --percent \N{MINUS SIGN}5..\N{MINUS SIGN}1", {0, 3}),
    (f"{MACHINE} --percent -99,5..12,5", {0}),
    (f"{MACHINE} --percent ..20%", {0}),
    (f"{MACHINE} --percent 5..", {0, 3}),
    (f"{MACHINE} --percent 500..1000", {3}),
    (f"{MACHINE} --max-price 74,90", {0, 3}),
    (f"{MACHINE} --max-price 0", {3}),
    (f"{MACHINE} --top 0", {0}),
    ("match -- kestrel-lane-7", {0}),
    ("--top 1 match", {2}),
    ("match --top 1 -- kestrel-lane-7", {0}),
    (f"{MACHINE} --in-stock --in-stock", {0, 3}),
    (f"{MACHINE} --supplier marram --supplier Marram", {0, 3}),
    ("match KESTREL-LANE-7", {0}),
    (f"{MACHINE} --format JSON", {0}),
    ("identify 13x47 Z13/49", {0}),
    ("identify 5/200", {3}),
    ("why kestrel-lane-7 MA-1543", {0, 3}),
]


@pytest.mark.parametrize(("line", "codes"), RIGHT, ids=[line for line, _ in RIGHT])
def test_unusual_but_right(line: str, codes: set[int], run) -> None:
    ran = run(*line.split(), env={"FITCHECK_CATALOG": str(SAMPLE)})

    assert ran.code in codes, ran
    if ran.code != 2:
        assert ran.out
        assert ran.err == ""


def test_both_ways_of_writing_a_negative_window_are_the_same(run) -> None:
    env = {"FITCHECK_CATALOG": str(ROOT / "catalog")}
    spaced = run("match", "dunlin-ten", "--percent", "-15..-5", "--format", "csv", env=env)
    joined = run("match", "dunlin-ten", "--percent=-15..-5", "--format", "csv", env=env)

    assert spaced.code == 0
    assert spaced == joined
    assert len(spaced.out.splitlines()) > 1


def test_a_retired_set_is_explained_and_said_to_be_retired(run) -> None:
    demo = {"FITCHECK_CATALOG": str(ROOT / "catalog")}
    why = run("why", "dunlin-ten", "MA-21452", env=demo)
    match = run("match", "dunlin-ten", "--band", "any", "--top", "0", env=demo)

    assert why.code in (0, 3)
    assert "MA-21452 is retired" in why.out
    assert match.code == 0
    assert "MA-21452" not in match.out


def test_nothing_asked_shows_the_help_as_no_answer(run) -> None:
    ran = run()

    assert (ran.code, ran.out) == (2, "")
    assert all(f"  {name} " in ran.err for name in COMMANDS)


def test_a_fault_of_our_own_is_one_line_too(run, monkeypatch: pytest.MonkeyPatch) -> None:
    import fitcheck.services.counter.identify

    def broken(*_: object) -> None:
        raise RuntimeError("bent\nin two")

    monkeypatch.setattr(fitcheck.services.counter.identify, "identify", broken)
    ran = run("identify", "13/47", env={"FITCHECK_CATALOG": str(SAMPLE)})

    assert (ran.code, ran.out) == (70, "")
    assert ran.err.count("\n") == 1
    assert "a fault of fitcheck itself (RuntimeError: bent in two); please report it" in ran.err


@pytest.mark.parametrize(
    ("teeth", "again"),
    [("13/46,14/57", True), ("15/48,14/55", False), ("15/46,14/55", False)],
)
def test_where_two_slips_are_needed_it_says_to_count_again(run, teeth: str, again: bool) -> None:
    """Two teeth out of the demo's 13/46, 14/55; one out of 14/48, 14/55; a factory train."""
    said = " ".join(run("identify", teeth, env={"FITCHECK_CATALOG": ""}).out.split())
    assert ("Count again before you order: mark one tooth with paint" in said) == again

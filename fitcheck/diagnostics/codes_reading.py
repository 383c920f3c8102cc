"""Codes of reading: the file as text, as YAML, and its outer form."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.examples import SET, SETS, TUNE, TUNES

_SUPPLIER = """\
kind: supplier
records:
  samphire:
    name: Samphire
    list_mapping:
      stage_words: {1: primary}
"""

READING_CODES: tuple[Code, ...] = (
    Code(
        "FC001",
        "unreadable-file",
        "error",
        "A file of the catalogue cannot be opened.",
        "What stands in it is missing from every answer, and nothing else would tell.",
        bad={"more.yaml/tunes.txt": "a folder with the name of a file\n"},
        good={"more/tunes.txt": "a folder with the name of a folder\n"},
    ),
    Code(
        "FC002",
        "over-limit",
        "error",
        "Something is larger or deeper than the reader takes.",
        "The bounds keep a broken or hostile file from using up the memory; no catalogue "
        "comes near them.",
        bad={TUNES: TUNE + "    notes: " + "[" * 41 + "]" * 41 + "\n"},
        good={TUNES: TUNE + "    notes: a short word\n"},
    ),
    Code(
        "FC003",
        "not-utf8",
        "error",
        "The file is not saved as UTF-8.",
        "Letters such as ü would come out as others; the reader does not guess.",
        bad={TUNES: TUNE.replace("pipe only", "g\udcfcnstiger Auspuff")},
        good={TUNES: TUNE.replace("pipe only", "günstiger Auspuff")},
    ),
    Code(
        "FC004",
        "hidden-character",
        "error",
        "A control or other hidden character stands in the file.",
        "It cannot be seen, and makes two ids that look alike different.",
        bad={TUNES: TUNE.replace("pipe only", "pipe\x07 only")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC005",
        "yaml-syntax",
        "error",
        "The file breaks the rules of YAML.",
        "Nothing behind such a place can be read with certainty, so the file is left out "
        "until it is fixed.",
        bad={TUNES: TUNE.replace("name: pipe only", "name:pipe only")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC006",
        "tab-indent",
        "error",
        "A tab stands in the indentation.",
        "YAML takes only spaces there, since nobody agrees how wide a tab is.",
        bad={TUNES: TUNE.replace("    low: 8", "\tlow: 8")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC007",
        "repeated-key",
        "error",
        "A key is given twice in one mapping.",
        "One of the two values would be lost without a word.",
        bad={TUNES: TUNE + "    high: 15\n"},
        good={TUNES: TUNE},
    ),
    Code(
        "FC008",
        "tag",
        "error",
        "A YAML tag (!name) stands in the file.",
        "Tags can make a reader build objects; a catalogue is plain data.",
        bad={TUNES: TUNE.replace("name: pipe", "name: !shout pipe")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC009",
        "anchor",
        "error",
        "An alias (*name), or an anchor (&name) before a key, stands in the file.",
        "A value that stands elsewhere is hard to follow on paper, and nested aliases can "
        "grow without end. An anchor before a value, which no alias uses, is left alone.",
        bad={TUNES: TUNE.replace("low: 8", "low: &least 8").replace("high: 14", "high: *least")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC010",
        "merge-key",
        "error",
        "A merge key (<<) stands in the file.",
        "It is no part of YAML 1.2, and readers differ over it.",
        bad={TUNES: TUNE + "    <<: {stretch: 16}\n"},
        good={TUNES: TUNE + "    stretch: 16\n"},
    ),
    Code(
        "FC011",
        "complex-key",
        "error",
        "A list or a mapping stands where a key belongs.",
        "Fields have names; often a bracket is left over from something else.",
        bad={TUNES: TUNE + "    [stretch]: 16\n"},
        good={TUNES: TUNE + "    stretch: 16\n"},
    ),
    Code(
        "FC012",
        "key-not-text",
        "error",
        "A key without quotes is a number, a truth value or nothing.",
        "Such a key loses its face: 007 becomes 7, and what it names is not found again.",
        bad={"suppliers/samphire.yaml": _SUPPLIER},
        good={"suppliers/samphire.yaml": _SUPPLIER.replace("1:", '"1":')},
    ),
    Code(
        "FC013",
        "several-documents",
        "error",
        "The file holds more than one YAML document.",
        "Readers that take only the first would lose the rest.",
        bad={TUNES: TUNE + "---\n" + TUNE.replace("pipe", "kit")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC014",
        "empty-file",
        "warning",
        "The file is empty or holds only comments.",
        "Perhaps a save went wrong, and records are gone.",
        bad={TUNES: "# tunes are still to come\n"},
        good={TUNES: TUNE},
    ),
    Code(
        "FC015",
        "number-too-long",
        "error",
        "A number has too many digits or too large an exponent.",
        "It is a code without quotes, or a slip; exact reckoning with it would not end.",
        bad={TUNES: TUNE.replace("high: 14", "high: 14e999999")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC016",
        "not-a-mapping",
        "error",
        "The file does not begin with keys.",
        "Without kind and records nobody can tell what the file holds.",
        bad={TUNES: "- pipe\n- kit\n"},
        good={TUNES: TUNE},
    ),
    Code(
        "FC017",
        "kind-missing",
        "error",
        "The file does not say what kind of record it holds.",
        "Each kind has fields of its own; a guess would judge the records by the wrong ones.",
        bad={TUNES: TUNE.replace("kind: tune\n", "")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC018",
        "unknown-kind",
        "error",
        "The file names a kind that there is not.",
        "Nothing in the file is read until the kind is right.",
        bad={TUNES: TUNE.replace("kind: tune", "kind: tunes")},
        good={TUNES: TUNE},
    ),
    Code(
        "FC019",
        "yaml-directive",
        "error",
        "A % line gives orders to the YAML reader.",
        "YAML 1.1 takes 15:38 for 938 and no for false; a catalogue is always YAML 1.2.",
        bad={TUNES: "%YAML 1.1\n---\n" + TUNE},
        good={TUNES: TUNE},
    ),
    Code(
        "FC020",
        "unknown-top-key",
        "error",
        "The file has a key at its top that means nothing there.",
        "A record that slipped out of records, or a mistyped word, would be passed over.",
        bad={TUNES: TUNE + "kit:\n  name: big-bore kit\n"},
        good={TUNES: TUNE + "  kit:\n    name: big-bore kit\n    low: 10\n    high: 20\n"},
    ),
    Code(
        "FC021",
        "records-missing",
        "error",
        "The file has no records.",
        "It says a kind and holds nothing.",
        bad={TUNES: "kind: tune\n"},
        good={TUNES: TUNE},
    ),
    Code(
        "FC022",
        "records-not-mapping",
        "error",
        "The records are not given under their ids.",
        "Under its id each record can be found, and YAML itself forbids giving one twice.",
        bad={TUNES: "kind: tune\nrecords:\n  - name: pipe only\n    low: 8\n    high: 14\n"},
        good={TUNES: TUNE},
    ),
    Code(
        "FC023",
        "misplaced-default",
        "error",
        "Something stands under defaults that cannot be given there.",
        "Only what a whole list has in common may be given once; anything else would be "
        "passed over.",
        bad={SETS: SET.replace("marram}", "marram, price: 60}")},
        good={SETS: SET + "    price: 60\n"},
    ),
    Code(
        "FC024",
        "no-records",
        "warning",
        "The records of a file are empty.",
        "Perhaps the file is only begun; perhaps records are gone.",
        bad={"more-shelf.yaml": "kind: shelf\nrecords: {}\n"},
        good={"more-shelf.yaml": "kind: shelf\nrecords:\n  MA-1447: {quantity: 1}\n"},
    ),
)
"""Codes of this group."""

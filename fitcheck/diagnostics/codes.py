"""Every code of a finding: its name and severity.

`examples.explanations` says what a code means, why it matters and how it looks; checking needs none
of that.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Severity = Literal["error", "warning", "advice"]
"""Certainly wrong, probably wrong, worth knowing."""


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of finding; never reused for another.

    Attributes:
        code: FC0xx reading, FC1xx one record, FC2xx the whole catalogue, FC3xx the
            shelf's ledger.
        name: the fault in words, such as `unknown-field`.
        severity: how sure the fault is, and how much it matters.
    """

    code: str
    name: str
    severity: Severity


_ALL = (
    Code("FC001", "unreadable-file", "error"),
    Code("FC002", "over-limit", "error"),
    Code("FC003", "not-utf8", "error"),
    Code("FC004", "hidden-character", "error"),
    Code("FC005", "yaml-syntax", "error"),
    Code("FC006", "tab-indent", "error"),
    Code("FC007", "repeated-key", "error"),
    Code("FC008", "tag", "error"),
    Code("FC009", "anchor", "error"),
    Code("FC010", "merge-key", "error"),
    Code("FC011", "complex-key", "error"),
    Code("FC012", "key-not-text", "error"),
    Code("FC013", "several-documents", "error"),
    Code("FC014", "empty-file", "warning"),
    Code("FC015", "number-too-long", "error"),
    Code("FC016", "not-a-mapping", "error"),
    Code("FC017", "kind-missing", "error"),
    Code("FC018", "unknown-kind", "error"),
    Code("FC019", "yaml-directive", "error"),
    Code("FC020", "unknown-top-key", "error"),
    Code("FC021", "records-missing", "error"),
    Code("FC022", "records-not-mapping", "error"),
    Code("FC023", "misplaced-default", "error"),
    Code("FC024", "no-records", "warning"),
    Code("FC025", "name-almost-yaml", "warning"),
    Code("FC101", "record-not-mapping", "error"),
    Code("FC102", "unknown-field", "error"),
    Code("FC103", "missing-field", "error"),
    Code("FC104", "wrong-type", "error"),
    Code("FC105", "unquoted-text", "error"),
    Code("FC106", "unknown-word", "error"),
    Code("FC107", "out-of-range", "error"),
    Code("FC108", "bad-teeth", "error"),
    Code("FC109", "bad-id", "error"),
    Code("FC110", "id-repeated", "error"),
    Code("FC111", "bad-text", "error"),
    Code("FC112", "bad-date", "error"),
    Code("FC113", "fields-disagree", "error"),
    Code("FC114", "two-readings", "advice"),
    Code("FC115", "nothing-given", "error"),
    Code("FC201", "unknown-family", "error"),
    Code("FC202", "unknown-housing", "error"),
    Code("FC203", "unknown-supplier", "error"),
    Code("FC204", "unknown-tune", "error"),
    Code("FC205", "unknown-vehicle-class", "error"),
    Code("FC206", "unknown-tyre", "error"),
    Code("FC207", "unknown-gear-set", "error"),
    Code("FC208", "stage-unlike-family", "error"),
    Code("FC209", "train-incomplete", "error"),
    Code("FC211", "ambiguous-name", "warning"),
    Code("FC212", "same-part-twice", "warning"),
    Code("FC213", "number-with-other-teeth", "error"),
    Code("FC214", "repeated-number", "warning"),
    Code("FC215", "repeated-factory-train", "warning"),
    Code("FC216", "repeated-kit-number", "error"),
    Code("FC217", "empty-list", "warning"),
    Code("FC218", "date-long-past", "warning"),
    Code("FC221", "band-inverted", "error"),
    Code("FC222", "too-many-idler-seats", "error"),
    Code("FC223", "family-code-unlike-sets", "warning"),
    Code("FC224", "family-distance-unlike-sets", "error"),
    Code("FC225", "family-distance-doubtful", "warning"),
    Code("FC226", "family-distance-beyond-reason", "warning"),
    Code("FC227", "tip-limit-beyond-reason", "warning"),
    Code("FC228", "family-distance-odd-shift", "warning"),
    Code("FC231", "set-fits-no-train", "error"),
    Code("FC232", "change-beyond-reason", "warning"),
    Code("FC233", "stage-in-doubt", "warning"),
    Code("FC234", "interface-without-gear", "warning"),
    Code("FC241", "listing-wheel-size", "warning"),
    Code("FC242", "listing-names-other-family", "advice"),
    Code("FC243", "answered-word-not-listed", "warning"),
    Code("FC244", "stage-word-contradicted", "warning"),
    Code("FC245", "denial-called-harmless", "warning"),
    Code("FC250", "borderline-mesh", "advice"),
    Code("FC251", "centre-distance-impossible", "error"),
    Code("FC252", "centre-distance-doubtful", "warning"),
    Code("FC253", "tip-over-casing", "warning"),
    Code("FC254", "hand-unlike-family", "warning"),
    Code("FC255", "interface-unlike-family", "warning"),
    Code("FC256", "seat-without-mate", "warning"),
    Code("FC257", "split-pair", "advice"),
    Code("FC258", "uncommon-module", "warning"),
    Code("FC259", "undercut-pinion", "advice"),
    Code("FC260", "own-idler-seat", "advice"),
    Code("FC261", "price-off-by-ten", "warning"),
    Code("FC263", "cost-unlike-price", "warning"),
    Code("FC264", "price-finer-than-coin", "warning"),
    Code("FC265", "unknown-currency", "warning"),
    Code("FC266", "price-of-nothing", "warning"),
    Code("FC267", "shop-price-unlike-list", "warning"),
    Code("FC271", "retired-without-successor", "advice"),
    Code("FC272", "successor-circle", "error"),
    Code("FC273", "stock-of-retired-set", "advice"),
    Code("FC274", "successor-unlike", "warning"),
    Code("FC281", "machine-stages-unlike-family", "error"),
    Code("FC282", "machine-not-as-built", "advice"),
    Code("FC283", "machine-unlike-its-train", "advice"),
    Code("FC284", "tyre-unlike-rim", "warning"),
    Code("FC285", "band-in-fractions", "warning"),
    Code("FC286", "date-in-future", "warning"),
    Code("FC287", "engine-figure-beyond-reason", "warning"),
    Code("FC288", "stages-exchanged", "warning"),
    Code("FC289", "machine-seat-unknown", "warning"),
    Code("FC290", "machine-seat-of-other-family", "warning"),
    Code("FC291", "unreadable-tyre-size", "warning"),
    Code("FC292", "tyre-size-unlike-rim", "warning"),
    Code("FC293", "roll-out-far-from-rule", "warning"),
    Code("FC294", "speed-symbol-unlike-size", "warning"),
    Code("FC301", "ledger-torn-line", "warning"),
    Code("FC302", "ledger-line-unreadable", "error"),
    Code("FC303", "ledger-chain-broken", "error"),
    Code("FC304", "shelf-unlike-ledger", "error"),
    Code("FC305", "shelf-details-unlike-ledger", "warning"),
    Code("FC306", "unknown-part-in-ledger", "error"),
    Code("FC307", "shelf-move-half-done", "warning"),
    Code("FC308", "ledger-lines-missing", "error"),
    Code("FC309", "ledger-time-wrong", "warning"),
)

CODES: MappingProxyType[str, Code] = MappingProxyType({code.code: code for code in _ALL})
"""Every code there is, in order."""

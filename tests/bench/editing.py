"""What an edit costs beside reading the file once, for a small and for a big file.

    python -m tests.bench.editing [--records 1000 10000]

Each edit is proved by reading its record again, and the whole is read once at the end: the cost
of one edit must not grow with the file.
"""

from __future__ import annotations

import argparse
import time
from decimal import Decimal

from fitcheck.catalogue.editing import draft_from_bytes

RECORD = """
  MA-{at}:
    part_number: "{at}"
    pairs: {{primary: 15/45}}
    fits:
      - {{family: dunlin-50, housings: [short, mid, long]}}   # as listed
    price: 49.90
"""


def text_of(records: int) -> bytes:
    """A file of gear sets."""
    head = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
    return (head + "".join(RECORD.format(at=at) for at in range(records))).encode()


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--records", type=int, nargs="+", default=[1000, 10000])
    for records in parser.parse_args().records:
        began = time.perf_counter()
        draft = draft_from_bytes("bench.yaml", text_of(records))
        opened = time.perf_counter() - began
        steps = {"open": opened}
        for name in ("prices", "notes", "records", "whole", "diff"):
            began = time.perf_counter()
            if name == "prices":
                for record_id in draft.ids:
                    draft.set_value(("records", record_id, "price"), Decimal("51.50"))
            elif name == "notes":
                for record_id in draft.ids:
                    draft.set_field(("records", record_id), "notes", "seen")
            elif name == "records":
                for at in range(records // 10):
                    fields = {"part_number": str(at), "pairs": {"primary": "15/44"}}
                    draft.add_record(f"NEW-{at}", fields)
            elif name == "whole":
                assert len(draft.source.text) > 0
            else:
                draft.diff()
            steps[name] = time.perf_counter() - began
        print(f"{records:>7,} records, to opening as 1:")
        for name, took in steps.items():
            print(f"  {name:<8} {took:8.2f} s  {took / opened:8.2f}")


if __name__ == "__main__":
    main()

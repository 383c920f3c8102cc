"""The shop's shelf: what lies where, every move of it, and the stock-take.

Every move is a line of the ledger before it is in the shelf file; see docs/shelf.md.
"""

from __future__ import annotations

"""The shelf's ledger: an append-only file of moves beside the shelf file, and what it adds up to.

One JSON object a line; docs/shelf.md describes the format.
"""

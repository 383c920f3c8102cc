"""What a gear set does to this machine on the road, before and after, with honest ranges."""

from __future__ import annotations

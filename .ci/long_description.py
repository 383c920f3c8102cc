"""README as the package's long description, where links into this folder would lead nowhere."""

import re
from pathlib import Path

from hatchling.metadata.plugin.interface import MetadataHookInterface

_RELATIVE_LINK = re.compile(r"!?\[([^\]]*)\]\((?!https?:|#)[^)]*\)")


class LongDescription(MetadataHookInterface):
    """Leaves the words of such a link, and drops where it leads; `fitcheck help` has the pages."""

    def update(self, metadata: dict[str, object]) -> None:
        """Put the text into the metadata of the package."""
        text = (Path(self.root) / "README.md").read_text(encoding="utf-8")
        shown = _RELATIVE_LINK.sub(r"\1", text)
        metadata["readme"] = {"content-type": "text/markdown", "text": shown}

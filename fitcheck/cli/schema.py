"""`fitcheck schema`: the JSON Schemas that help an editor complete and explain fields."""

from __future__ import annotations

from pathlib import Path

import click

from fitcheck.cli.commands import command
from fitcheck.cli.common import echo_json, echo_text
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import once
from fitcheck.errors import UsageError


@command("schema", "fitcheck schema machine")
@click.argument("kind", required=False)
@once(
    "--write FOLDER folder",
    "Write all schemas into this folder.",
    click.Path(file_okay=False, path_type=Path),
)
@once(
    "--compare FOLDER",
    "Say which schemas in this folder are out of step; exit code 1 if any is.",
    click.Path(exists=True, file_okay=False, path_type=Path),
)
def schema_command(kind: str | None, folder: Path | None, compare: Path | None) -> int:
    """Print the JSON Schema of one KIND of file, or write or compare them all.

    KIND is family, gear-set, machine, variator, tune, vehicle-class, tyre, supplier or shelf. For
    an answer in JSON it is match.output, why.output, road.output, identify.output, options.output,
    intake.output, shelf-list.output, shelf-history.output, shelf-move.output, shelf-count.output,
    shelf-gaps.output, shelf-plan.output or finding.
    """
    from fitcheck.answers.schemas import output_schemas
    from fitcheck.catalogue import schema as schemas
    from fitcheck.diagnostics.suggest import nearest, or_list

    if sum(option is not None for option in (kind, folder, compare)) != 1:
        raise UsageError("name one kind, or give --write or --compare with a folder")
    every = {**schemas.schemas(), **output_schemas()}
    if kind is not None:
        name = schemas.file_name(kind)
        if name not in every:
            kinds = [known.removesuffix(".schema.json") for known in every]
            near = nearest(kind, kinds)
            hint = f"did you mean {near}?" if near else f"there is {or_list(kinds)}"
            raise UsageError(f"no kind of file {kind[:40]!r}; {hint}")
        echo_json(every[name])
        return 0
    if folder is not None:
        try:
            written = schemas.write_schemas(folder, every)
        except OSError as error:
            raise UsageError(
                f"cannot write to {folder}: {error.strerror}; name another folder"
            ) from None
        for path in written:
            echo_text(f"{path}\n")
        return 0
    assert compare is not None
    stale = schemas.compare(compare, every)
    for name in stale:
        echo_text(f"{compare / name}: out of step; write it anew with fitcheck schema --write\n")
    return EXIT_FINDINGS if stale else 0

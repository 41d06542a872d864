"""Two plans compared, end to end: their outputs read, what differs, why, and written."""

from __future__ import annotations

from pathlib import Path

from siteplan.answers.differences import Differences
from siteplan.jobs.watch import Watch, unwatched

#: The folder of the differences, in the new plan's output.
COMPARED_NAME = "compared"


def compare_outputs(
    old: str | Path,
    new: str | Path,
    output: str | Path | None = None,
    *,
    watch: Watch = unwatched,
) -> tuple[Differences, Path]:
    """Compare two plans by their output folders and write what differs, as the command does.

    Parameters
    ----------
    old, new : path
        Output folders of 'siteplan plan'; they may be one.
    output : path, optional
        Where ``differences.csv``, ``differences_totals.csv`` and ``differences.html`` go, else the
        folder ``compared`` in the new plan's output; a later plan leaves it alone.
    watch : callable
        As of `siteplan.plan_project`; told the steps between the plans.

    Returns
    -------
    Differences
        As of `compare_plans`.
    Path
        The folder that was written.

    Raises
    ------
    SiteplanError
        If there is no plan in one of the folders, or it cannot be read, or the outputs cannot be
        written.
    """
    from siteplan.jobs.compare.kept import INPUTS_NAME
    from siteplan.outputs.differences.files import OUTPUT_NAMES, write_differences
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    target = Path(new) / COMPARED_NAME if output is None else Path(output)
    for folder in (Path(old), Path(new)):
        apart(target, folder, (folder / INPUTS_NAME / "sites.csv",), held=_held(Path(new)))
    found = compare_plans(old, new, watch=watch)
    base, part = (Path(new), COMPARED_NAME) if output is None else (target, "")
    with claimed(base, part=part) as claim, claim.staged(OUTPUT_NAMES) as folder:
        write_differences(found, folder)
    return found, target


def _held(new: Path) -> tuple[str, str]:
    """Return what is wrong with an output that holds a plan which is compared, and what to do."""
    return (
        "one of the plans that are compared lies there, and would be replaced by the comparison.",
        f"Leave --output out, then it goes into {new / COMPARED_NAME}. Or give --output a folder of"
        " its own.",
    )


def compare_plans(old: str | Path, new: str | Path, *, watch: Watch = unwatched) -> Differences:
    """Compare two plans by their output folders: what changed, and by which inputs.

    The old plan is made anew with one group of the new one's inputs after the other; each change
    is put down to the group that brings it. Without ``inputs/`` in one of the folders only the
    results are compared.

    Parameters
    ----------
    old, new : path
        Output folders of 'siteplan plan'.
    watch : callable
        As of `siteplan.plan_project`.

    Raises
    ------
    SiteplanError
        If there is no plan in one of the folders, or it cannot be read.
    """
    from siteplan.jobs.compare.between import between
    from siteplan.jobs.compare.earlier import open_earlier, told_apart

    folders = Path(old), Path(new)
    before, after = map(open_earlier, folders, told_apart(*folders))
    return between(before, after, watch)

"""`backup`: a copy of the books beside them or elsewhere, opened and proved; exit 1 where it does not prove good."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.findings import refuse
from inventory.ground.site.command import DaybookCommand
from studio.keeping.backing_up import Backup, back_up, back_up_when_due


class Command(DaybookCommand[Backup | None]):
    help = "Copy the books, photographs and key, also while the site is served; open the copy and audit it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("folder", nargs="?", help="Where copies stand; else the folder that was chosen for them.")
        parser.add_argument("--keep", type=int, help="How many good copies are kept there.")

        parser.add_argument(
            "--when-due", action="store_true", help="Only where the last good copy is older than was chosen."
        )

    def answer(self, **options: Any) -> Backup | None:
        folder, keep = options["folder"], options["keep"]
        if options["when_due"]:
            if folder is not None or keep is not None:
                words = "What is due is decided for the chosen folder."
                raise refuse("option.when-due", "--when-due", words, "Name neither folder nor --keep.")
            return back_up_when_due()
        if keep is not None and keep < 1:
            raise refuse("option.keep", "--keep", f"{keep} copies cannot be kept.", "Write 1 or more.")
        if folder == "":
            raise refuse("option.folder", "folder", "The folder has no name.", "Name one, or none at all.")
        return back_up(None if folder is None else Path(folder), keep=keep)

    def text(self, answer: Backup | None) -> str:
        if answer is None:
            return "No copy is due."
        if not answer.is_good:
            return f"The copy {answer.where} is not counted as good."
        what = f"{answer.rows} rows, {answer.photographs} photographs, {answer.bytes / 1e6:.1f} MB"
        gone = f" {len(answer.taken_away)} older made room." if answer.taken_away else ""
        return f"Copied to {answer.where}: {what}; opened and audited.{gone}"

    def is_sound(self, answer: Backup | None) -> bool:
        return answer is None or answer.is_good

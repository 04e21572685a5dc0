"""A process that writes into a studio until it is killed. It says on its output what was promised to be kept."""

from __future__ import annotations

import sys
from pathlib import Path

from passagework.studio.records import TakeDetails
from passagework.studio.studio import open_studio
from tests.studio.filling import add_piece, add_student


def main(folder: Path, run: int) -> None:
    """Add, change, delete and undo, and print each thing once the studio has answered."""
    with open_studio(folder) as studio:
        student = add_student(studio, f"Student {run}")
        number = 0
        while True:
            number += 1
            mark = f"{run}-{number}"
            piece = add_piece(studio, mark)
            print("piece", mark, piece.id, flush=True)
            details = TakeDetails(student_id=student.id, piece_id=piece.id, kind="midi", notes=mark)
            take = studio.takes.add(f"take {mark}".encode() * 2000, details)
            print("take", mark, take.value.id, flush=True)
            note = studio.edits.put(piece.id, "own-note", mark, {"text": mark})
            print("edit", mark, note.value.id, flush=True)
            if number % 3 == 0:
                studio.undo.undo(note.undo)
                print("undone", mark, note.value.id, flush=True)
            if number % 5 == 0:
                studio.backups.make()
                print("backup", mark, 0, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))

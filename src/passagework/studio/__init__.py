"""The studio: what is kept of students, pieces, lessons, takes, plans and the teacher's own edits.

One folder holds it all: a database, scores and takes as files by their content's hash, a cache, backups. Everything given out
is a frozen value (`passagework.studio.records`, `passagework.studio.piece_records`); every method is safe to call from several
threads; what cannot be done raises `StudioError` with one line for the teacher. A method that a click can regret gives `Done`, with a
token for `studio.undo.undo(token)`.

    from passagework.studio.studio import open_studio   (loads the database's machinery; this package alone is light)
    studio = open_studio(folder, url=None)      upgrades, sweeps, makes the day's backup;  studio.close(), or `with`

    studio.students   add(details) -> StudentRecord        get(id)      all(archived=False)     change(id, details) -> Done
                      archive(id, archived=True) -> Done    remove_for_good(id, confirm=name, older="keep"|"clean"|"delete") -> Removal
                      (for real: rows, files, log, freed pages; `older` is for backups that hold the student; Removal.words)
    studio.pieces     add(data, file_name, facts=None) -> Added         get(id)   by_hash(hash)   all()   score(id) -> bytes
                      change(id, details) -> Done           replace_score(id, data, file_name, facts=None) -> Done
                      set_facts(id, facts)  set_level_scores({id: score})  profiles() -> {id: profile}  not_measured(version) -> ids
                      delete(id) -> Done  restore(id) -> Done      (`facts.piece_facts(data, name)` is for a worker)
    studio.library    search(PieceQuery) -> PiecePage       composers()  keys()  metres()  tags()  collections()  number_names()
    studio.levels     lists()   make(name, labels) -> Done  change(id, name, labels) -> Done    delete(id) -> Done
                      import_csv(list_name, data) -> Done[LevelImport]
    studio.studies    add(details) -> Done   get(id)   change(id, details) -> Done   delete(id) -> Done
                      of_student(id)   of_piece(id)
    studio.lessons    add(details) -> Done   get(id)   change(id, details) -> Done   delete(id) -> Done
                      of_student(id, limit=None)   on(date)
    studio.takes      add(data, details) -> Done   get(id)   change(id, details) -> Done   delete(id) -> Done
                      file(id) -> bytes   set_result(id, status, summary, result, version)   result(id) -> Json | None
                      heard(id, heard=True) -> Done   to_hear()   waiting()   of_student(id, piece_id=None, limit=None)   of_piece(id)
    studio.plans      add(student_id, piece_id, body, reason="") -> Done   latest(student_id, piece_id=None)   versions(...)   all_latest(student_id)   get(id)
    studio.edits      put(piece_id, kind, key, payload, student_id=None, bar=None, note_ids=(), label="") -> Done
                      put_many(piece_id, ((kind, key, payload, bar, note_ids), ...)) -> Dones with one token   get(id)
                      delete(id, label="") -> Done   delete_many(ids, label="") -> Done   of_piece(piece_id, student_id=None)   (what holds for all, and for this student)
    studio.skills     put(student_id, kind, value, notes="") -> Done   delete(student_id, kind) -> Done   of_student(id)
    studio.undo       undo(token) -> Done (its token takes the undoing back)   recent(limit=20) -> tuple[Step, ...]
    studio.settings   get(name, default)   put(name, value) -> Done   all()
    studio.computed   get(ComputedKey) -> bytes | None      put(ComputedKey, data)      clear()    size()
    studio.backups    make() -> Backup   all()   restore(name) -> Backup (of the state before)   delete(name)   holding(student uid) -> names
    studio.archive    write_all(file) / write_student(id, file, scores=True) -> ArchiveReport   read(file) -> ImportReport (.words)
    studio.day(date) -> Day                        who comes, what was promised, what to hear, performances
    studio.summary() -> Summary                    counts and bytes, for the page that says what is kept and where
    studio.tend()                                  sweeps and makes the day's backup: at opening, and daily where a program runs on
"""

from passagework.studio.errors import ConflictError, NotFoundError, StudioError

__all__ = ["ConflictError", "NotFoundError", "StudioError"]

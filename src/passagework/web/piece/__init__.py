"""The page of a piece: the score with pencil marks, spots and cards, exercises that sound, fingering, layers, own notes.

What is long is worked out in a worker's process (`work`) and kept in the studio's cache as JSON documents:

* the *score* document (`score_document`): bars, notes, the engraved systems, tune, harmony, form and words; for any hand;
* the *places* document (`places_document`): spots, strip, sentences; for a hand;
* the *fingers* document (`fingers_document`): fingering; for two hands and the fingers that the teacher fixed;
* *exercises* of a spot (`exercise_document`), for the same.

A request puts them together (`sheet`) and lays the teacher's edits over them (`passagework.teaching.edits`), so that an edit
costs no new analysis: the marks of every system are worked out, and only systems whose marks have changed are drawn again.
"""

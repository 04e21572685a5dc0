"""How the music looks: `Notation` to SVG, with the marks that a teacher's pencil would make.

The whole of it in four lines::

    pending = start_score(notation, layout)          # engraves in a process beside this one
    ...                                              # time to think about the music
    engraving = pending.result()                     # or EngravingError, never a crash
    systems = draw(engraving, layout, [Ring(note_ids, "1"), Tune(tune_ids), Chord(note_id, "Bb7", "V7")])

Every `System` is one SVG, complete in itself, whose notes, rests and bars carry the notation's ids.

* `render`: `render_score`, `render_excerpt` (bars cut out), `render_notation` (a step of an exercise)
* `marks`: what can be marked; `layout`: sizes in millimetres; `draw`: marks over engraved music
* `together`: several pictures in one HTML document, ids unique and music characters defined once
* `process`, `worker`, `toolkit`, `prepare`, `compact`: the engraver's process and what happens in it
* `pencil`, `rings`, `lettering`, `symbols`, `placing`: how marks are drawn and find room

For PDF the SVG of a `System` is set by typst as it is; its words are in a serif that typst brings along.
"""

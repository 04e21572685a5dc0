"""How the music sounds: a piece is performed as written, and written down as MIDI or as audio.

`passagework.sound.perform` makes a `Performance` of a `Piece` or a `Notation`; `midi` writes it as a Standard MIDI
File, `audio` renders it with a soundfont, `files` makes WAV, MP3 and Ogg of that. Everything is a plain function from
values to values: bytes come out, nothing is opened or played.
"""

"""What somebody who does not know music can listen for at home, one sentence for each kind of difficulty and each layer."""

from __future__ import annotations

from collections.abc import Mapping

KINDS: Mapping[str, str] = {
    "polyrhythm": "Both hands keep to their own even count; neither pulls the other along.",
    "changing-divisions": "The foot could tap along evenly, though the notes become quicker and slower.",
    "dotted-rhythm": "The long and short notes sound like a skip, always the same.",
    "syncopation": "You can tap evenly along, although some notes fall between your taps.",
    "leap": "After a wide jump the music goes on at once, with no gap before the far note.",
    "stretch": "Wide chords sound easy, and the shoulders stay down.",
    "passagework": "The quick notes are all equally long and equally loud.",
    "double-notes": "Two notes at a time begin exactly together.",
    "octaves": "It sounds loose, not hammered, and the wrist does not get tired.",
    "repeated-notes": "Every one of the repeated notes can be heard.",
    "tremolo": "The shaking notes are even and do not tire the arm.",
    "ornaments": "The little extra notes do not make the music late.",
    "two-voices": "One line sings, and the other in the same hand stays in the background.",
    "balance": "You could sing the tune; nothing else covers it.",
    "hands-together": "What is played together sounds together, like one.",
    "tune-between-hands": "The tune goes on without a hole when the other hand takes it over.",
    "hands-crossing": "It stays calm where one hand reaches over the other.",
    "same-keys": "No note is lost where the hands meet on the keys.",
    "key-signature": "If a note sounds strange, it is worth a look at the signs at the start of the line.",
    "accidentals": "Some notes are meant to sound unusual; they should be the same every time.",
    "harmony": "A surprising chord may surprise; it should be the same every time.",
    "sudden-dynamics": "Loud and soft change all at once, like a light switched on.",
    "soft-playing": "It is soft, and still every note can be heard.",
    "near-repeats": "Places that are almost alike do go on differently.",
    "reading": "Slow is right while the notes are new.",
    "words": "The music changes its character where the page says so.",
}
"""By the kind's name in `passagework.spots.table`."""

LAYERS: Mapping[str, str] = {
    "hands": "One hand at a time is the whole work; it sounds bare, and that is right.",
    "together": "Slow and even is the whole work this week; nothing needs to be fast.",
    "tempo": "It may get a little quicker from day to day, as long as it does not stumble.",
    "memory": "The book stays closed for a while; ask to hear one line from memory.",
    "polish": "Sit down and be the audience once; say what you liked.",
    "again": "What went well last week still goes.",
    "through": "Be the audience: let it go on without a word, even when something goes wrong.",
}

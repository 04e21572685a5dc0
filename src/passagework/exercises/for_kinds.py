"""Which techniques serve which kind of difficulty, the first choice first, each with its reason.

A row has two to five of its own. `passagework.exercises.choose` passes over those that the notes of a place do not
bear and fills up with the general ones.
"""

from __future__ import annotations

GENERAL = ("hands-separately", "add-a-beat", "from-the-end", "tempo-ladder")
"""What serves any place, in order: taken where the techniques of its own kind do not fit."""

REASONS: dict[str, dict[str, str]] = {
    "polyrhythm": {
        "polyrhythm": "the two numbers are one rhythm, and are learned as one before they are played",
        "ties-out": "a tie hides the place where the hands meet",
        "shrinking-stop": "the groups join only when the meeting point is safe",
        "hands-separately": "each line must be even by itself before it can stay so",
        "tempo-ladder": "the proportion is kept while the tempo grows",
    },
    "changing-divisions": {
        "counted-pulse": "the beat stays while its parts change, if something outside the hand keeps it",
        "shrinking-stop": "the new number is thought during the stop",
        "hands-separately": "the hand that changes is heard alone",
        "tempo-ladder": "the change is the same at every tempo",
    },
    "dotted-rhythm": {
        "counted-pulse": "the short note is measured by notes as short as it is",
        "hands-separately": "what the other hand plays pulls the short note to itself",
        "groups-with-stops": "from each short note at once into the long one, then a stop",
        "tempo-ladder": "a dotted note is dotted at every tempo",
    },
    "syncopation": {
        "ties-out": "the note struck again shows where the silent beat is",
        "counted-pulse": "a tapped beat cannot be moved by what comes between",
        "hands-separately": "one hand keeps the beat that the other plays against",
        "tempo-ladder": "rushing begins where the tempo is not yet safe",
    },
    "leap": {
        "landing": "the way is learned before the stroke, and the stroke before the time",
        "shrinking-stop": "the time for the way is taken away little by little",
        "from-the-end": "the target is known before it is reached",
        "tempo-ladder": "the time for the way is what the tempo leaves",
    },
    "stretch": {
        "landing": "the hand opens on the way and not on the keys",
        "voices-separately": "what must be held and what moves are known by themselves",
        "hands-separately": "the wide hand is watched for ease",
        "tempo-ladder": "slowly there is time to close the hand again",
    },
    "passagework": {
        "blocks": "what is one grip is learned as one",
        "hand-positions": "only the moves between positions have to be learned",
        "rhythms": "every note is once the long one and once the quick one",
        "groups-with-stops": "speed in small pieces, thought in between",
        "tempo-ladder": "evenness first, then speed",
    },
    "double-notes": {
        "voices-separately": "each line with its own fingers, then the two are only put together",
        "rhythms": "every pair is once the quick one",
        "groups-with-stops": "short groups do not tire the hand",
        "tempo-ladder": "looseness first, then speed",
    },
    "octaves": {
        "voices-separately": "the thumb alone learns the way, the outer fingers the sound",
        "groups-with-stops": "the wrist comes to rest in every stop",
        "rhythms": "every octave is once the quick one",
        "tempo-ladder": "as fast as the wrist stays loose",
    },
    "repeated-notes": {
        "finger-changes": "the key must come up before it goes down",
        "groups-with-stops": "a group at speed, then the hand at rest",
        "rhythms": "every stroke is once the quick one",
        "tempo-ladder": "as fast as every stroke still sounds",
    },
    "tremolo": {
        "tremolo-stages": "counted and loose first, it grows quick by itself",
        "blocks": "the grip is known before it is broken up",
        "groups-with-stops": "the forearm comes to rest in every stop",
        "tempo-ladder": "as fast as the arm stays loose",
    },
    "ornaments": {
        "ornament-stages": "first the notes, then the ornament in time, then as a sign",
        "hands-separately": "the ornamented hand is heard alone",
        "tempo-ladder": "an ornament that is safe slowly is not squeezed",
    },
    "two-voices": {
        "voices-separately": "each voice is heard to its end before both are played",
        "balance": "one hand learns two loudnesses by overdoing it",
        "ties-out": "a held note struck again is not forgotten",
        "tempo-ladder": "listening to two voices takes time",
    },
    "balance": {
        "balance": "who can do too much can do enough",
        "tune-first": "who has heard the tune alone notices when it is covered",
        "voices-separately": "the tune gets the fingers it needs",
        "tempo-ladder": "two loudnesses in one hand take time",
    },
    "hands-together": {
        "hands-separately": "each hand sure before the two meet",
        "counted-pulse": "the rhythms of the two meet before their notes do",
        "add-a-beat": "together only as far as it is sure",
        "tempo-ladder": "slow enough for both hands",
    },
    "tune-between-hands": {
        "tune-first": "the tune alone shows the seam, and hears it closed",
        "balance": "the tune keeps its loudness while its hand changes",
        "shrinking-stop": "the seam is closed little by little",
        "tempo-ladder": "the seam first, then the tempo",
    },
    "hands-crossing": {
        "landing": "the crossing hand knows its way and its height",
        "hands-separately": "each hand's keys are known before they share the place",
        "shrinking-stop": "the time for crossing over is taken away little by little",
        "tempo-ladder": "slowly there is room for both",
    },
    "same-keys": {
        "hands-separately": "each hand hears what it loses to the other",
        "shrinking-stop": "the key is let go before the other hand needs it",
        "add-a-beat": "one shared key at a time",
        "tempo-ladder": "slowly there is room for both",
    },
    "key-signature": {
        "new-key": "ear and hand come into the key before the notes do",
        "name-notes": "what is said is not forgotten",
        "hands-separately": "one hand's altered notes at a time",
        "tempo-ladder": "slow enough to think of every sign",
    },
    "accidentals": {
        "name-notes": "what is said is not forgotten",
        "hear-the-chord": "an accidental that belongs to a chord explains itself",
        "new-key": "what is outside the signature has a key of its own",
        "blocks": "as grips the accidentals come together",
        "tempo-ladder": "slow enough to read every sign",
    },
    "harmony": {
        "hear-the-chord": "the ear must expect what is written",
        "name-notes": "a note that was said is not corrected",
        "hands-separately": "the hand with the strange note alone",
        "tempo-ladder": "slow enough to hear before playing",
    },
    "sudden-dynamics": {
        "shrinking-stop": "the new loudness is prepared in the stop, and the stop made shorter",
        "plain-then-words": "the change is heard against a plain version",
        "loud-then-soft": "the soft side gets its touch by itself",
        "from-the-end": "the soft side is known before it is reached",
    },
    "soft-playing": {
        "loud-then-soft": "to the bottom of the key first, then with less speed",
        "balance": "what may be softer still makes room for the tune",
        "hands-separately": "each hand is heard for notes that fail",
        "tempo-ladder": "softness first, then speed",
    },
    "near-repeats": {
        "forks": "side by side the difference itself is learned",
        "starting-places": "a place to start just after the parting saves the way",
        "from-the-end": "the end is known before the parting comes",
        "tempo-ladder": "slow enough to decide",
    },
    "reading": {
        "name-notes": "the voice goes ahead of the hand",
        "hands-separately": "one staff at a time",
        "blocks": "as grips there is less to read",
        "add-a-beat": "a little more each day is read for good",
        "tempo-ladder": "slow enough to read without stopping",
    },
    "words": {
        "plain-then-words": "what a word asks is heard against a plain version",
        "tune-first": "the words speak of the tune first of all",
        "from-the-end": "where it leads is known before it begins",
    },
}  # fmt: skip
"""For each kind of difficulty its techniques in order, with the reason in a few words."""

BY_KIND: dict[str, tuple[str, ...]] = {kind: tuple(row) for kind, row in REASONS.items()}
"""Names of techniques for each kind, the first choice first."""

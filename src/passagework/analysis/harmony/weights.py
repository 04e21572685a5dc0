"""The few numbers that balance one kind of evidence against another.

Everything is in nats (log odds). The shape of each comes from how music is made and is said beside
it; the sizes were settled on two annotated sonata movements (`bench/harmony.py` prints the figures
for each). Both movements were looked at while the model was made, so they are no proof for a third; but
the sizes stand on a plateau: with ten of them sought anew on either movement alone, from here, one
moves, and no figure of the other movement changes by more than 0.015.
"""

EVIDENCE = 3.0
"""How much a beat of sound counts against the expectations about chords."""
ATTACK_SHARE = 0.25
"""What striking a note adds to its sounding, in beats."""
DOUBLING_SHARE = 0.3
"""What a further note of the same name adds, against the first."""
LONGEST_BEATS = 1.0
"""Sound that goes on longer than this within one atom adds nothing more."""

STRANGER = -5.0
"""Log probability of a note outside the chord that behaves as chord notes do (left by leap, on the beat)."""
STEP_AWAY, STEP_TOWARDS, HELD_OVER, WEAK = 1.3, 0.4, 0.5, 0.2
"""What makes a note outside the chord likelier: left by step, reached by step or prepared by the
same note, short and off the beat."""
RESPELLED = -1.2
"""A chord note written with another name (a G sharp in a chord that has A flat)."""

BASS_ROOT, BASS_THIRD, BASS_FIFTH, BASS_SEVENTH, BASS_OTHER = -0.6, -1.5, -3.0, -2.8, -3.2
"""Log probability of each chord member, or none, in the bass."""
BASS_FIFTH_OF_SEVENTH = -2.0
"""The 4/3 position is freer than the six-four."""
BASS_WEIGHT = 0.8
"""A beat of bass against a beat of another voice."""

SCALE = -0.15
"""A beat of a note outside the scale of the key."""

CHANGE = (-7.0, -5.0, -1.6, -0.9, -0.5)
"""Log probability that the chord changes, by metric level (finest first)."""
PACE, USUAL_PACE, PACE_LEAST = 0.5, 4.0, -1.5
"""How much a change within the half bar loses for each halving of the number of places struck per
beat below the usual four, and the most it can lose."""

KEY_CHANGE = -9.5
"""A change of key within the nearest relations, at the start of a bar."""
KEY_CHANGE_WEAK = -1.0
"""On top, on a weaker beat."""
KEY_DISTANCE = -1.0
"""For each step on the circle of fifths between the scales of two keys, the first being free."""
KEY_DIRECT = -2.0
"""A change of key without a pivot chord."""
SIGNATURE_DISTANCE = -0.7
"""A change to a key whose scale lies a step of fifths further from the signature, per step."""
BEGIN_ELSEWHERE = -1.5
"""Beginning on another chord than the tonic."""
END_ELSEWHERE = -4.0
"""Ending on another chord than the tonic, and again on another bass."""
FIRST_SIGNATURE = -6.0
"""The first step away from the signature, for the key a piece begins in."""

BASS_PRIOR = 0.5
"""How much of the odds of the inversions counts when the bass of a known chord is sought."""
BASS_MISS = -2.5
"""A beat whose lowest note is not the bass (it may be an inner note of a broken chord)."""
BASS_CHANGE = (-4.0, -2.5, -1.2, -0.8, -0.6)
"""A move of the bass within a chord, by metric level (finest first)."""
BASS_OPENING = 2.0
"""How much more the note under the beginning of a chord counts: it names the inversion."""
PARALLEL = 3
"""Steps of fifths that a change between major and minor on one tonic counts as."""

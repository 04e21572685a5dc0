"""The Lamplighter: a tune over an Alberti bass, with a middle part in the relative minor."""

MUSIC = r"""
title = The Lamplighter
composer = Composed for Passagework
rights = Dedicated to the public domain (CC0 1.0)
time = 3/4
fifths = 1
left-clef = F

bar
1: T"Allegretto|112" !mp D5q(-f5 B4q-f3 G4q-f1
5: G3e-f5 D4e-f1 B3e D4e B3e D4e
bar
1: A4q B4q C5q
5: F#3e D4e C4e D4e C4e D4e
bar
1: B4h) D5q-f4
5: G3e D4e B3e D4e B3e D4e
bar
1: D5h.
5: F#3e D4e C4e D4e C4e D4e
bar
1: E5q(-f5 C5q A4q-f1
5: E3e C4e A3e C4e A3e C4e
bar
1: D5q B4q G4q
5: D3e-f5 B3e G3e B3e G3e B3e
bar
1: A4e B4e C5q F#4q-f1
5: D3e C4e A3e C4e A3e C4e
bar
1: G4h.)
5: G3e D4e B3e G3e D3q
bar
1: !mf B4q(-f3 E5q-f5 D#5q
5: E3e B3e G3e B3e A3e B3e
bar
1: E5h) B4q-st
5: E3e B3e G3e B3e G3e B3e
bar
1: C5q( B4q A4q
5: A3e-f5 E4e C4e E4e C4e E4e
bar
1: B4h.)
5: E3e B3e G3e B3e G3e B3e
bar
1: !< A4q(-f1 B4q C#5q
5: F#3e D4e A3e D4e G3e E4e
bar
1: D5q-f1 E5q F#5q !.
5: F#3e D4e A3e D4e A3e D4e
bar
1: G5q) !> E5q( C#5q
5: E3e A3e G3e A3e G3e A3e
bar
1: D5h) !. rq
5: D3e A3e F#3e A3e C4q-f1
bar
1: !p ^"dolce" D5q(-f5 B4q G4q
5: G3e-f5 D4e B3e D4e B3e D4e
bar
1: A4q B4q C5q
5: F#3e D4e C4e D4e C4e D4e
bar
1: B4h) D5q
5: G3e D4e B3e D4e B3e D4e
bar
1: G5h.-ten
5: F3e D4e B3e D4e B3e D4e
bar
1: !< E5q( G5q C5q
5: E3e C4e G3e C4e G3e C4e
bar
1: !. D5q !> B4q G4q
5: D3e B3e G3e B3e G3e B3e
bar
1: A4e B4e ^"poco rit." C5q F#4q-f1
5: D3e C4e A3e C4e A3e C4e
bar final
1: G4h.)-ferm !.
5: G3e D4e B3e D4e G3q
"""

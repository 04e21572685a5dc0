"""Paper Boat: the hands take turns, and meet at the ends of the lines."""

MUSIC = r"""
title = Paper Boat
composer = Composed for Passagework
rights = Dedicated to the public domain (CC0 1.0)
time = 4/4
fifths = 0

bar
1: T"Gently moving|88" !mp C4q(-f1 E4q G4q E4q
5: R
bar
1: F4q D4q E4h)
5: R
bar
1: R
5: G3q(-f1 E3q C3q E3q
bar
1: R
5: F3q D3q G3h)
bar
1: C4q(-f1 E4q G4q E4q
5: R
bar
1: F4q A4q-f5 G4h)
5: R
bar
1: R
5: G3q(-f2 A3q-f1 G3q F3q
bar
1: rh E4h-f3
5: E3q D3q C3h)
bar
1: !p G4q(-f4 A4q-f5 G4q E4q
5: R
bar
1: F4q E4q D4h)-f1
5: R
bar
1: R
5: G3q(-f2 A3q-f1 G3q E3q
bar
1: rh G4h-f5
5: F3q E3q D3h)
bar
1: !mf A4q(-f3 B4q C5h)
5: R
bar
1: C5q(-f5 A4q !> G4q F4q)-f1
5: R
bar
1: R
5: !. G3q(-f1 E3q ^"slower" F3q D3q
bar final
1: !p C4+E4w-f13
5: C3w)
"""

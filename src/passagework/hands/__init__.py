"""What a hand can do: the keyboard in millimetres, the hand's reach, fingering and travel.

* `hand`, `keyboard`, `spans`: what a hand reaches; `care`: how it is measured, and the cautions.
* `fingering.finger_piece`: fingers for a whole piece; `alternatives.alternatives`: other ways.
* `beyond.beyond_reach`: what the hand cannot do, and the ways out.
* `editorial.editorial` and `write.write_fingering`: which numbers to print, and printing them.

How a fingering is found: `slices` (one hand, seen as a right hand) become `layers` of shapes with costs
(`terms`, `weights`); `runs` and `figures` draw like passages together; `search` finds the cheapest path.
"""

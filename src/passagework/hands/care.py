"""How a hand is measured at the keyboard, and the cautions that belong wherever reach is discussed."""

from __future__ import annotations

MEASURING = (
    "Lay the relaxed hand on a table edge, thumb and little finger opened as far as they go without "
    "strain, and measure from tip to tip with a ruler: that is the largest reach. Measure each hand; "
    "they differ.",
    "Without a ruler: let the hand, fingers flat along the front edge of the keys, cover white keys from "
    "thumb to little finger. Eight keys covered to the middle of the outer ones are about 17.5 cm, "
    "nine about 20 cm, ten about 22 cm.",
    "For the comfortable reach, play the two outer keys together eight times at a walking pace. If the "
    "wrist stays loose, that width is comfortable; if it locks, take one key less.",
    "Measure a growing student again every few months.",
)
"""Steps in words, for a teacher and a student."""

CAUTIONS = (
    "Pain, numbness or tingling: stop, and see a doctor or a physiotherapist who treats musicians.",
    "No stretch beyond comfort, above all for growing hands: reach comes with growth, not with force.",
    "A wide chord may always be rolled, shared or thinned. The teacher decides.",
)
"""To be shown wherever reach is spoken of."""

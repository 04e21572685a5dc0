"""Today: who comes, what was promised, what there is to hear; and the way back from what a click did."""

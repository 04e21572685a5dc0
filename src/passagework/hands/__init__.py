"""What a hand can do: the keyboard in millimetres, the hand's reach, fingering and travel."""

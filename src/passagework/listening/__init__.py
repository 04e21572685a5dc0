"""What was played: takes, their alignment with the score, and what it means."""

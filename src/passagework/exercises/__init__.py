"""What to do about a spot: exercises made from the student's own bars, step by step.

Every step is a notation of its own, edited from the score's tree (`passagework.exercises.edit`), so that
it can be engraved, played, printed and opened in a notation program, and its notes keep their ids.
"""

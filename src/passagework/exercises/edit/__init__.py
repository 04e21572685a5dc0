"""Editing the notation tree: each function takes a `Notation` and gives another; ids stay.

`passagework.exercises.edit.unfold` lays a notation out by position and folds it together again; all
that changes when and how long something sounds goes through it.
"""

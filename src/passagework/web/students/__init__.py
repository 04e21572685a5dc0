"""The students: a list, a page for each, what they study and can, their lessons."""

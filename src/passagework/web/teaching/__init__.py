"""What comes next, on the page: skills, readiness, plan, the week's assignment.

The rules are `passagework.teaching`'s; here is what brings the studio's records to them (`evidence`), what is measured for a
student's hand (`measured`) and the pages.
"""

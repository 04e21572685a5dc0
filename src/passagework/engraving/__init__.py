"""How the music looks: `Notation` to SVG, with the marks that a teacher's pencil would make.

See `passagework.engraving.render` for the functions, `marks` for what can be marked, `layout` for
sizes, `together` for several pictures in one document.
"""

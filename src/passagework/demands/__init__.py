"""How hard a piece is: what it demands, kind by kind, and where that stands on a teacher's own scale."""

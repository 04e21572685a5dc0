"""The library: what there is, scores brought in, and what the teacher notes about a piece."""

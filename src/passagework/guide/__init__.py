"""The pages people are given: HTML, PDF and JSON, made from what the other rooms found."""

"""Migrations of the database; applied when a studio is opened."""

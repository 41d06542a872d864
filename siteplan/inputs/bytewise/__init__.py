"""Whole columns and whole blocks of lines as bytes, so that a table is not read cell by cell."""

"""Whole jobs: where inputs, planning and outputs meet. ``siteplan.api`` is the front door."""

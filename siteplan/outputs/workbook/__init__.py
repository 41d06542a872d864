"""Workbooks (ECMA-376, .xlsx): the plan as one, and a project to fill in as one."""

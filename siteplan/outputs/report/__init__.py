"""The report of a plan: a few pages to read, to print and to sign, for a manager or a tender."""

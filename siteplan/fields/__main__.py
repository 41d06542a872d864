"""Write the dictionary's page: ``python -m siteplan.fields``, in the source tree."""

from __future__ import annotations

from siteplan.fields.page import README, page

if __name__ == "__main__":
    README.write_text(page(), encoding="utf-8", newline="\n")
    print(f"Written to {README}")

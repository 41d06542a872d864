import subprocess
import sys

import pytest


@pytest.mark.parametrize("module", ["sites.read", "network.read", "files.tables"])
def test_importing_is_light(module):
    """What takes long to import is imported when it is needed."""
    heavy = "['pandas', 'geopandas', 'pyarrow', 'pyogrio', 'openpyxl', 'shapely', 'pyproj']"
    code = f"import sys, siteplan.inputs.{module}; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

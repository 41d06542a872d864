"""Plan VSAT sites: look angles, rain, link margins, kit, mount and an offline map."""

__version__ = "0.1.0"

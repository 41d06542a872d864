"""The version, in one place: the build, the command line and the parts of large plans read it."""

__version__ = "0.2.0.dev0"

"""Settings that these tests share."""

from hypothesis import settings

# A busy machine is no failure; the examples are small.
settings.register_profile("inputs", deadline=None)
settings.load_profile("inputs")

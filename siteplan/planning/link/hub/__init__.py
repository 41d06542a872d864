"""The hub's own means: its amplifier, and a second hub that takes over in rain."""

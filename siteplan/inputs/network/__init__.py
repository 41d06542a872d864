"""network.toml: read and checked, its keys told, a starter made."""

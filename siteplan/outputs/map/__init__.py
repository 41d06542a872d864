"""The offline map: page, data, layers, scripts and styles."""

"""Tables of sites: CSV, GeoPackage, GeoJSON, GeoParquet, rejects."""

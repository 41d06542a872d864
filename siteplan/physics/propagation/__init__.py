"""What the sky takes: gas, cloud, rain, scintillation, and the maps that they rest on."""

"""What equipment does: antennas, noise, carriers, waveforms, cable, exposure."""

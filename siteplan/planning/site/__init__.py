"""The site pack: stance, loads, sky, terrain, cable, exposure, sun, pointing."""

"""All that runs on both sides: read and run here in Python, compiled for the browser."""

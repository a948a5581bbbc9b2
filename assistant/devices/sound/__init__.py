"""Sound in and out: streams, samples, files, tones."""

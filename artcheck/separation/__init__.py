"""The art in fewer inks: which inks, which pixel in which of them, and the dots of its tints."""

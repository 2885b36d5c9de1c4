"""What a person or a program reads: the only place where results are written."""

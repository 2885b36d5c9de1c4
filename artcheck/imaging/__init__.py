"""Array in, array out: the operations that several measurements and the separation share."""

"""Files that mean harm, or that were harmed: what each may end as, tried by doing it."""

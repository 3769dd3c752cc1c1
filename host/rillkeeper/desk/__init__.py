"""A page on the desk: to try a site, and to watch a board. On top of all other rooms."""

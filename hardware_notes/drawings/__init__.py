"""The pictures of the notes, drawn by code: ``make notes`` draws them anew."""

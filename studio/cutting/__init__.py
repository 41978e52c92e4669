"""Pure: the cut list of the bench: bones, tapes and cords of one job or of several, cut from the lots that lie there."""

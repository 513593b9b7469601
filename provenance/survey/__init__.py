"""What a person records of a board, the files it comes from, and outputs written whole."""

"""Characters to readings: tokens, schemes, families, house schemes and weights. Light to import."""

"""Why the result is what it is: what it rests on, what carries it, what to look at next."""

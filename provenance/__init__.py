"""Date a circuit board from its chip markings and tell the original parts from later work."""
